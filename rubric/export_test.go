package rubric

// Pairs counts the pairs of steps walked with and against the nearest accepted
// route, of those that the route compares.
func Pairs(k Key, t Transcript) (with, against int) {
	g := newRun(&Rubric{}, &k, t)
	g.follow()
	f := newWalkMap(g).best(nil)
	return f.with, f.against
}

// Rise is the length of a longest rise.
func Rise(ranks []int32) int {
	n := 0
	for _, keep := range longestRise(ranks) {
		if keep {
			n++
		}
	}
	return n
}

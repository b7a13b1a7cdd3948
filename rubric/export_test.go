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

// FreshWalk is the walk beside the nearest route, with nothing left out.
func FreshWalk(k Key, t Transcript) Walk {
	g := newRun(&Rubric{}, &k, t)
	g.follow()
	m := newWalkMap(g)
	return m.walk(m.best(nil).route)
}

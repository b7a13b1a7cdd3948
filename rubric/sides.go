package rubric

import "strings"

// sided splits a site such as "left apex" into its side and the rest: below
// zero left, above zero right, 0 neither.
func sided(site string) (side int, rest string) {
	if rest, ok := strings.CutPrefix(site, "left"); ok && (rest == "" || rest[0] == ' ') {
		return -1, rest
	}
	if rest, ok := strings.CutPrefix(site, "right"); ok && (rest == "" || rest[0] == ' ') {
		return 1, rest
	}
	return 0, ""
}

// mirrored says that two sites are the same place on either side of the animal.
func mirrored(a, b string) bool {
	sideA, restA := sided(a)
	sideB, restB := sided(b)
	return sideA != 0 && sideA == -sideB && restA == restB
}

// howFar names how an abnormal entry answers its finding: rightly, on the other
// side of the animal, at another site, or in part. Lost is what it lost by its
// site, off what by its value; the name changes neither.
func (g *run) howFar(it *item, lost, off int64) string {
	site := g.sheet.site(it.entry.field, it.entry.place)
	switch {
	case lost == 0 && off == 0:
		return codeCaught
	case it.entry.field != it.field || it.f.Site == "":
		return codePartly
	case off == 0 && it.entry.sited && mirrored(it.f.Site, site):
		return codeSwapped
	case off == 0 && it.entry.sited:
		return codeMisplaced
	case lost == 0 && g.changedPlaces(it):
		return codeSwapped
	}
	return codePartly
}

// changedPlaces says that two abnormal sides have changed places: what is on
// either side stands on the other.
func (g *run) changedPlaces(it *item) bool {
	f := &g.sheet.fields[it.field]
	for i, other := range f.Sites {
		if !mirrored(it.f.Site, other) {
			continue
		}
		e := g.sheet.on(g.sheet.base[it.field] + 1 + int32(i))
		if e == nil || !e.examined || e.reading.Class != Abnormal {
			continue
		}
		mine, errMine := f.Read(it.f.Value)
		theirs, errTheirs := f.Read(e.truth)
		if errMine == nil && errTheirs == nil && sameReading(e.reading, mine) && sameReading(it.entry.reading, theirs) {
			it.mirror = e
			return true
		}
	}
	return false
}

// oneSide is the first site left out of a paired step that was done on one side
// only; -1 where that is not what happened.
func oneSide(names []string, spots []spot) int {
	done, first := 0, -1
	for i := range names {
		side, _ := sided(names[i])
		if spots[i].first == 0 {
			continue
		}
		if side == 0 || done == -side {
			return -1
		}
		done = side
	}
	for i := range names {
		if side, _ := sided(names[i]); done != 0 && side == -done && first < 0 {
			first = i
		}
	}
	return first
}

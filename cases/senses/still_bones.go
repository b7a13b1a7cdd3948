package senses

import "slices"

// bodies are the animals by species: the drawings of the examination sheet, and
// their joints as they were read off them.
var bodies = map[string]*body{
	"dog": {dogBody, bones{
		scale: 930, left: 14, top: 36, ground: 698,
		neck: dot{360, 300}, head: dot{262, 200}, ear: dot{250, 116}, tail: dot{796, 276},
		elbow: dot{392, 490}, carpus: dot{386, 588}, stifle: dot{690, 470}, hock: dot{812, 562},
		neckBand: [2]int{440, 290}, headBand: [2]int{310, 256}, fore: [2]int{296, 440}, hind: [2]int{650, 850}, tailFrom: 830, earBack: -1, back: 220, belly: 478}},
	"cat": {catBody, bones{
		scale: 930, left: 4, top: 56, ground: 664,
		neck: dot{310, 310}, head: dot{236, 226}, ear: dot{196, 170}, tail: dot{742, 280},
		elbow: dot{370, 446}, carpus: dot{336, 582}, stifle: dot{640, 460}, hock: dot{742, 545},
		neckBand: [2]int{370, 240}, headBand: [2]int{262, 226}, fore: [2]int{240, 392}, hind: [2]int{600, 780}, earBack: 1, back: 240, belly: 452}},
	"horse": {horseBody, bones{
		scale: 750, left: 90, top: 16, ground: 882,
		neck: dot{370, 360}, head: dot{238, 140}, ear: dot{206, 92}, tail: dot{842, 320},
		elbow: dot{396, 560}, carpus: dot{374, 690}, stifle: dot{760, 540}, hock: dot{854, 660},
		neckBand: [2]int{470, 300}, headBand: [2]int{280, 236}, fore: [2]int{284, 440}, hind: [2]int{738, 900}, earBack: 1, back: 306, belly: 586}},
	"cattle": {cattleBody, bones{
		scale: 840, left: 58, top: 30, ground: 762,
		neck: dot{310, 310}, head: dot{226, 210}, ear: dot{200, 196}, tail: dot{876, 214},
		elbow: dot{372, 500}, carpus: dot{354, 602}, stifle: dot{760, 500}, hock: dot{864, 576},
		neckBand: [2]int{380, 240}, headBand: [2]int{262, 212}, fore: [2]int{296, 410}, hind: [2]int{722, 900}, earBack: 1, back: 212, belly: 538}},
	"rabbit": {rabbitBody, bones{
		scale: 930, left: 14, top: 50, ground: 646,
		neck: dot{320, 400}, head: dot{246, 350}, ear: dot{256, 276}, tail: dot{866, 430},
		elbow: dot{384, 574}, carpus: dot{300, 590}, stifle: dot{600, 560}, hock: dot{830, 590},
		neckBand: [2]int{390, 250}, headBand: [2]int{280, 232}, fore: [2]int{238, 400}, hind: [2]int{556, 880}, earBack: 1, back: 236, belly: 590}},
}

// bodyOf is the body of a species, or nil; one that is dry has no udder.
func bodyOf(species string, dry bool) *body {
	b := bodies[species]
	if b == nil || !dry {
		return b
	}
	out := *b
	out.strokes = slices.DeleteFunc(slices.Clone(b.strokes), func(s stroke) bool { return s.piece == udder })
	return &out
}

package web

// trunks are the drawings of the trunk by species. How many ribs a species has
// and how many of them reach the breastbone (dog and cat 13 and 9, horse 18 and
// 8, cattle 13 and 8, rabbit mostly 12 and 7) is anatomy from memory; so is that
// the point of the elbow covers the fifth rib or space of a standing animal. The
// lines are drawn freehand, no source.
var trunks = map[string]trunk{"cat": catTrunk, "cattle": cattleTrunk, "dog": dogTrunk, "horse": horseTrunk, "rabbit": rabbitTrunk}

var dogTrunk = trunk{
	frame: [4]int{262, 178, 530, 386},
	shows: "The trunk of a dog, from the neck to the thigh: the blade and point of the shoulder, the point of the elbow, thirteen ribs of which the shoulder covers the first, the line of the breastbone, the last rib, and the hip.",
	keep:  []string{"far elbow", "far stifle", "nose"},
	cage: cage{ribs: 13, sternal: 9,
		heads:  []landmark{{x: 350, y: 300, name: "first rib"}, {x: 400, y: 266}, {x: 450, y: 254}, {x: 500, y: 250}, {x: 552, y: 250, name: "last rib"}},
		bows:   []landmark{{x: 334, y: 346}, {x: 408, y: 350}, {x: 484, y: 346}, {x: 552, y: 330}, {x: 604, y: 294}},
		ends:   []landmark{{x: 318, y: 394}, {x: 404, y: 432}, {x: 490, y: 446}, {x: 566, y: 416}, {x: 620, y: 344}},
		breast: []landmark{{x: 304, y: 420, name: "handle of the breastbone"}, {x: 372, y: 462}, {x: 446, y: 480}, {x: 514, y: 474, name: "end of the breastbone"}},
	},
	cover: []landmark{
		{x: 303, y: 410, name: "point of shoulder"}, {x: 326, y: 352}, {x: 362, y: 280}, {x: 396, y: 218, name: "front angle of the blade"}, {x: 424, y: 216, name: "top of the blade"}, {x: 446, y: 236, name: "rear angle of the blade"}, {x: 448, y: 300},
		{x: 446, y: 370}, {x: 452, y: 428}, {x: 450, y: 440, name: "point of elbow"}, {x: 436, y: 490}, {x: 402, y: 500}, {x: 358, y: 492}, {x: 326, y: 456},
	},
	back: []landmark{{x: 460, y: 246, name: "edge of the back muscles"}, {x: 540, y: 262}, {x: 620, y: 264}, {x: 676, y: 256}},
	strokes: []stroke{
		{class: "fine", marks: []landmark{{x: 414, y: 234, name: "spine of the blade"}, {x: 384, y: 300}, {x: 350, y: 362}, {x: 326, y: 398}}},
		{class: "fine", marks: []landmark{{x: 334, y: 424, name: "upper arm"}, {x: 378, y: 446}, {x: 414, y: 476}}},
		{class: "mark", marks: []landmark{{x: 317, y: 398, name: "head of the upper arm"}, {x: 309, y: 406}, {x: 309, y: 417}, {x: 318, y: 426}}},
		{class: "mark", marks: []landmark{{x: 450, y: 440, name: "point of elbow"}, {x: 453, y: 460}, {x: 446, y: 476}, {x: 436, y: 494}}},
		{class: "mark", marks: []landmark{{x: 666, y: 250, name: "hip"}, {x: 666, y: 236}, {x: 680, y: 230}, {x: 696, y: 234}}},
		{class: "fine", marks: []landmark{{x: 672, y: 262, name: "thigh"}, {x: 656, y: 306}, {x: 648, y: 362}, {x: 656, y: 424}}},
	},
}

var catTrunk = trunk{
	frame: [4]int{224, 196, 480, 350},
	shows: "The trunk of a cat, from the neck to the thigh: the blade and point of the shoulder, the point of the elbow, thirteen ribs of which the shoulder covers the first, the line of the breastbone, the last rib, and the hip.",
	keep:  []string{"far elbow", "far stifle", "nose"},
	cage: cage{ribs: 13, sternal: 9,
		heads:  []landmark{{x: 296, y: 306, name: "first rib"}, {x: 344, y: 284}, {x: 392, y: 276}, {x: 440, y: 273}, {x: 488, y: 264, name: "last rib"}},
		bows:   []landmark{{x: 280, y: 338}, {x: 352, y: 344}, {x: 426, y: 342}, {x: 490, y: 328}, {x: 538, y: 296}},
		ends:   []landmark{{x: 264, y: 370}, {x: 346, y: 404}, {x: 430, y: 416}, {x: 502, y: 394}, {x: 556, y: 340}},
		breast: []landmark{{x: 254, y: 392, name: "handle of the breastbone"}, {x: 316, y: 424}, {x: 386, y: 438}, {x: 462, y: 438, name: "end of the breastbone"}},
	},
	cover: []landmark{
		{x: 246, y: 382, name: "point of shoulder"}, {x: 266, y: 344}, {x: 304, y: 292}, {x: 334, y: 244, name: "front angle of the blade"}, {x: 362, y: 240, name: "top of the blade"}, {x: 386, y: 258, name: "rear angle of the blade"}, {x: 388, y: 286},
		{x: 388, y: 330}, {x: 400, y: 380}, {x: 399, y: 402, name: "point of elbow"}, {x: 382, y: 446}, {x: 338, y: 460}, {x: 294, y: 448}, {x: 264, y: 420},
	},
	back: []landmark{{x: 404, y: 270, name: "edge of the back muscles"}, {x: 470, y: 278}, {x: 550, y: 270}, {x: 620, y: 258}},
	strokes: []stroke{
		{class: "fine", marks: []landmark{{x: 356, y: 254, name: "spine of the blade"}, {x: 334, y: 302}, {x: 296, y: 350}, {x: 268, y: 374}}},
		{class: "fine", marks: []landmark{{x: 274, y: 396, name: "upper arm"}, {x: 320, y: 410}, {x: 364, y: 434}}},
		{class: "mark", marks: []landmark{{x: 260, y: 370, name: "head of the upper arm"}, {x: 252, y: 378}, {x: 252, y: 389}, {x: 261, y: 398}}},
		{class: "mark", marks: []landmark{{x: 399, y: 402, name: "point of elbow"}, {x: 401, y: 420}, {x: 395, y: 432}, {x: 386, y: 440}}},
		{class: "mark", marks: []landmark{{x: 616, y: 252, name: "hip"}, {x: 616, y: 238}, {x: 630, y: 232}, {x: 646, y: 236}}},
		{class: "fine", marks: []landmark{{x: 628, y: 266, name: "thigh"}, {x: 606, y: 312}, {x: 596, y: 362}, {x: 602, y: 424}}},
	},
}

var horseTrunk = trunk{
	frame: [4]int{258, 234, 560, 416},
	shows: "The trunk of a horse, from the neck to the thigh: the blade and point of the shoulder, the point of the elbow, eighteen ribs of which the shoulder covers the first, the line of the breastbone, the last rib, and the hip.",
	keep:  []string{"far elbow", "far stifle", "upper lip"},
	cage: cage{ribs: 18, sternal: 8,
		heads:  []landmark{{x: 340, y: 396, name: "first rib"}, {x: 404, y: 360}, {x: 472, y: 344}, {x: 540, y: 342}, {x: 614, y: 340, name: "last rib"}},
		bows:   []landmark{{x: 326, y: 430}, {x: 418, y: 446}, {x: 508, y: 450}, {x: 592, y: 430}, {x: 660, y: 380}},
		ends:   []landmark{{x: 310, y: 466}, {x: 420, y: 532}, {x: 512, y: 548}, {x: 602, y: 520}, {x: 682, y: 436}},
		breast: []landmark{{x: 292, y: 486, name: "handle of the breastbone"}, {x: 340, y: 532}, {x: 398, y: 560}, {x: 446, y: 568, name: "end of the breastbone"}},
	},
	cover: []landmark{
		{x: 280, y: 440, name: "point of shoulder"}, {x: 314, y: 400}, {x: 358, y: 340}, {x: 392, y: 284, name: "front angle of the blade"}, {x: 430, y: 284, name: "top of the blade"}, {x: 458, y: 308, name: "rear angle of the blade"}, {x: 452, y: 340},
		{x: 446, y: 400}, {x: 450, y: 470}, {x: 441, y: 508, name: "point of elbow"}, {x: 418, y: 560}, {x: 380, y: 574}, {x: 326, y: 546}, {x: 298, y: 494},
	},
	back: []landmark{{x: 470, y: 330, name: "edge of the back muscles"}, {x: 540, y: 352}, {x: 620, y: 352}, {x: 690, y: 336}},
	strokes: []stroke{
		{class: "fine", marks: []landmark{{x: 426, y: 304, name: "spine of the blade"}, {x: 388, y: 356}, {x: 340, y: 414}, {x: 306, y: 442}}},
		{class: "fine", marks: []landmark{{x: 314, y: 464, name: "upper arm"}, {x: 358, y: 494}, {x: 404, y: 538}}},
		{class: "mark", marks: []landmark{{x: 296, y: 427, name: "head of the upper arm"}, {x: 287, y: 436}, {x: 287, y: 448}, {x: 297, y: 458}}},
		{class: "mark", marks: []landmark{{x: 441, y: 508, name: "point of elbow"}, {x: 444, y: 528}, {x: 440, y: 546}, {x: 438, y: 572}}},
		{class: "mark", marks: []landmark{{x: 700, y: 342, name: "hip"}, {x: 698, y: 326}, {x: 712, y: 316}, {x: 730, y: 318}}},
		{class: "fine", marks: []landmark{{x: 706, y: 356, name: "thigh"}, {x: 722, y: 404}, {x: 718, y: 456}, {x: 738, y: 508}}},
		{class: "fine", marks: []landmark{{x: 470, y: 574, name: "muscle of the belly"}, {x: 560, y: 558}, {x: 640, y: 524}, {x: 704, y: 484}}},
	},
}

var cattleTrunk = trunk{
	frame: [4]int{226, 168, 560, 416},
	shows: "The trunk of a cow, from the neck to the thigh: the blade and point of the shoulder, the point of the elbow, thirteen ribs of which the shoulder covers the first, the line of the breastbone, the last rib, the hollow of the flank, and the hip.",
	keep:  []string{"far elbow", "far stifle", "muzzle"},
	cage: cage{ribs: 13, sternal: 8,
		heads:  []landmark{{x: 300, y: 326, name: "first rib"}, {x: 358, y: 284}, {x: 424, y: 262}, {x: 492, y: 254}, {x: 564, y: 248, name: "last rib"}},
		bows:   []landmark{{x: 286, y: 362}, {x: 368, y: 370}, {x: 454, y: 368}, {x: 540, y: 350}, {x: 616, y: 304}},
		ends:   []landmark{{x: 272, y: 398}, {x: 362, y: 448}, {x: 454, y: 466}, {x: 550, y: 440}, {x: 638, y: 366}},
		breast: []landmark{{x: 262, y: 424, name: "handle of the breastbone"}, {x: 316, y: 464}, {x: 378, y: 488}, {x: 440, y: 496, name: "end of the breastbone"}},
	},
	cover: []landmark{
		{x: 242, y: 410, name: "point of shoulder"}, {x: 274, y: 352}, {x: 310, y: 280}, {x: 334, y: 222, name: "front angle of the blade"}, {x: 366, y: 218, name: "top of the blade"}, {x: 396, y: 234, name: "rear angle of the blade"}, {x: 404, y: 270},
		{x: 412, y: 336}, {x: 420, y: 404}, {x: 414, y: 440, name: "point of elbow"}, {x: 392, y: 490}, {x: 352, y: 500}, {x: 304, y: 484}, {x: 266, y: 452},
	},
	back: []landmark{{x: 420, y: 244, name: "edge of the back muscles"}, {x: 500, y: 254}, {x: 590, y: 252}, {x: 690, y: 238}},
	strokes: []stroke{
		{class: "fine", marks: []landmark{{x: 364, y: 236, name: "spine of the blade"}, {x: 338, y: 304}, {x: 306, y: 370}, {x: 274, y: 408}}},
		{class: "fine", marks: []landmark{{x: 276, y: 432, name: "upper arm"}, {x: 324, y: 446}, {x: 378, y: 476}}},
		{class: "mark", marks: []landmark{{x: 261, y: 399, name: "head of the upper arm"}, {x: 251, y: 408}, {x: 251, y: 420}, {x: 262, y: 430}}},
		{class: "mark", marks: []landmark{{x: 414, y: 440, name: "point of elbow"}, {x: 415, y: 460}, {x: 410, y: 480}, {x: 404, y: 502}}},
		{class: "mark", marks: []landmark{{x: 706, y: 240, name: "hip"}, {x: 700, y: 222}, {x: 714, y: 210}, {x: 736, y: 214}}},
		{class: "fine", marks: []landmark{{x: 640, y: 268, name: "flank hollow"}, {x: 656, y: 306}, {x: 700, y: 316}}},
		{class: "fine", marks: []landmark{{x: 710, y: 258, name: "thigh"}, {x: 708, y: 330}, {x: 702, y: 400}, {x: 722, y: 468}}},
		{class: "fine", marks: []landmark{{x: 480, y: 512, name: "milk vein"}, {x: 540, y: 522}, {x: 590, y: 514}, {x: 640, y: 512}}},
	},
}

var rabbitTrunk = trunk{
	frame: [4]int{226, 196, 560, 466},
	shows: "The trunk of a crouching rabbit, from the neck to the thigh: the blade and point of the shoulder, the point of the elbow, twelve ribs of which the shoulder covers the first, the line of the breastbone, the last rib, the thigh, and the hip.",
	keep:  []string{"far forelimb", "far hindfoot", "nose"},
	cage: cage{ribs: 12, sternal: 7,
		heads:  []landmark{{x: 298, y: 426, name: "first rib"}, {x: 346, y: 388}, {x: 398, y: 364}, {x: 450, y: 346}, {x: 500, y: 326, name: "last rib"}},
		bows:   []landmark{{x: 288, y: 462}, {x: 356, y: 460}, {x: 428, y: 448}, {x: 494, y: 422}, {x: 546, y: 384}},
		ends:   []landmark{{x: 280, y: 498}, {x: 348, y: 536}, {x: 430, y: 544}, {x: 506, y: 514}, {x: 560, y: 452}},
		breast: []landmark{{x: 276, y: 524, name: "handle of the breastbone"}, {x: 322, y: 556}, {x: 378, y: 572}, {x: 428, y: 576, name: "end of the breastbone"}},
	},
	cover: []landmark{
		{x: 262, y: 486, name: "point of shoulder"}, {x: 292, y: 436}, {x: 312, y: 390}, {x: 322, y: 334, name: "front angle of the blade"}, {x: 352, y: 328, name: "top of the blade"}, {x: 384, y: 346, name: "rear angle of the blade"}, {x: 384, y: 390},
		{x: 390, y: 444}, {x: 408, y: 500}, {x: 408, y: 528, name: "point of elbow"}, {x: 390, y: 578}, {x: 352, y: 584}, {x: 316, y: 568}, {x: 282, y: 534},
	},
	back: []landmark{{x: 410, y: 336, name: "edge of the back muscles"}, {x: 480, y: 312}, {x: 570, y: 286}, {x: 660, y: 280}},
	strokes: []stroke{
		{class: "fine", marks: []landmark{{x: 350, y: 344, name: "spine of the blade"}, {x: 342, y: 392}, {x: 320, y: 444}, {x: 290, y: 480}}},
		{class: "fine", marks: []landmark{{x: 290, y: 504, name: "upper arm"}, {x: 334, y: 524}, {x: 374, y: 560}}},
		{class: "mark", marks: []landmark{{x: 280, y: 475, name: "head of the upper arm"}, {x: 271, y: 484}, {x: 271, y: 494}, {x: 280, y: 503}}},
		{class: "mark", marks: []landmark{{x: 408, y: 528, name: "point of elbow"}, {x: 410, y: 546}, {x: 406, y: 562}, {x: 400, y: 574}}},
		{class: "mark", marks: []landmark{{x: 676, y: 300, name: "hip"}, {x: 672, y: 284}, {x: 686, y: 274}, {x: 704, y: 278}}},
		{class: "fine", marks: []landmark{{x: 690, y: 330, name: "thigh"}, {x: 634, y: 372}, {x: 590, y: 440}, {x: 584, y: 510, name: "stifle"}, {x: 602, y: 560}, {x: 622, y: 592}}},
	},
}

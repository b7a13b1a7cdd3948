package web

// animals are the drawings by species.
var animals = map[string]animal{"cat": cat, "cattle": cattle, "dog": dog, "horse": horse, "rabbit": rabbit}

// dog is a standing dog of middle size with a dropped ear. Proportions are
// those of a mesocephalic breed: trunk slightly longer than the height at the
// withers, elbow half way down, hock a third of the way up (drawn freehand, no source).
var dog = animal{posture: "standing", height: 720, frame: "30 72 940 640", strokes: []stroke{
	// The limbs of the far side, lighter and behind.
	{class: "far", marks: []landmark{
		{x: 346, y: 470, name: "far elbow"}, {x: 336, y: 530}, {x: 322, y: 582, name: "far carpus"}, {x: 316, y: 606},
		{x: 310, y: 642}, {x: 282, y: 656}, {x: 268, y: 676, name: "far forepaw"}, {x: 276, y: 685}, {x: 318, y: 686}, {x: 342, y: 682}, {x: 347, y: 660}, {x: 350, y: 612},
		{x: 358, y: 586}, {x: 368, y: 546},
	}},
	{class: "far", marks: []landmark{
		{x: 676, y: 474, name: "far stifle"}, {x: 700, y: 520}, {x: 722, y: 558}, {x: 722, y: 590, name: "far hock"},
		{x: 706, y: 644}, {x: 678, y: 656}, {x: 664, y: 676, name: "far hindpaw"}, {x: 672, y: 685}, {x: 712, y: 686}, {x: 736, y: 682}, {x: 744, y: 656}, {x: 758, y: 610},
	}},
	// The outline, from the nose over the back to the tail and home under the belly.
	{class: "line", closed: true, marks: []landmark{
		{x: 70, y: 190, name: "nose"}, {x: 84, y: 174}, {x: 120, y: 164, name: "bridge"}, {x: 154, y: 152, name: "stop"}, {x: 172, y: 124, name: "brow"},
		{x: 204, y: 102, name: "forehead"}, {x: 244, y: 96, name: "poll"}, {x: 282, y: 112, name: "occiput"},
		{x: 318, y: 146, name: "crest"}, {x: 362, y: 182}, {x: 412, y: 202, name: "withers"}, {x: 452, y: 214}, {x: 540, y: 224, name: "back"}, {x: 626, y: 216, name: "loin"},
		{x: 700, y: 216, name: "croup"}, {x: 758, y: 236}, {x: 788, y: 256, name: "tail base"},
		{x: 832, y: 284}, {x: 872, y: 328}, {x: 904, y: 372}, {x: 948, y: 386, name: "tail tip", sharp: true},
		{x: 918, y: 402}, {x: 880, y: 396}, {x: 840, y: 358}, {x: 810, y: 316, name: "perineum", sharp: true},
		{x: 822, y: 352, name: "ischium"}, {x: 820, y: 400}, {x: 804, y: 446}, {x: 800, y: 486}, {x: 818, y: 520}, {x: 842, y: 546, name: "point of hock"},
		{x: 838, y: 574}, {x: 822, y: 618}, {x: 812, y: 656}, {x: 806, y: 684}, {x: 796, y: 694, sharp: true},
		{x: 756, y: 698}, {x: 718, y: 696}, {x: 710, y: 686, name: "hindpaw"}, {x: 724, y: 668}, {x: 750, y: 656}, {x: 772, y: 612}, {x: 784, y: 574, name: "hock"},
		{x: 766, y: 536}, {x: 724, y: 502}, {x: 684, y: 470, name: "stifle"}, {x: 656, y: 424, name: "flank fold", sharp: true},
		{x: 600, y: 446}, {x: 530, y: 476}, {x: 462, y: 494}, {x: 436, y: 494, name: "sternum", sharp: true},
		{x: 430, y: 540}, {x: 410, y: 590, name: "carpus"}, {x: 404, y: 622}, {x: 404, y: 660}, {x: 402, y: 686}, {x: 394, y: 695, sharp: true},
		{x: 352, y: 698}, {x: 318, y: 696}, {x: 310, y: 686, name: "forepaw"}, {x: 324, y: 668}, {x: 350, y: 654}, {x: 358, y: 616}, {x: 360, y: 584}, {x: 362, y: 540}, {x: 352, y: 492},
		{x: 326, y: 456}, {x: 302, y: 416, name: "point of shoulder"}, {x: 286, y: 368, name: "prosternum"}, {x: 274, y: 316}, {x: 254, y: 278, name: "throat"},
		{x: 222, y: 256, name: "angle of jaw"}, {x: 176, y: 254}, {x: 128, y: 254, name: "chin"}, {x: 100, y: 244, name: "lip"}, {x: 84, y: 228}, {x: 72, y: 212},
	}},
	// The face.
	{class: "solid", closed: true, marks: []landmark{
		{x: 70, y: 190}, {x: 84, y: 175}, {x: 98, y: 180}, {x: 96, y: 194}, {x: 84, y: 206}, {x: 73, y: 212},
	}},
	{class: "line", marks: []landmark{{x: 84, y: 212, name: "philtrum"}, {x: 96, y: 228, name: "lip"}, {x: 130, y: 234}, {x: 164, y: 228}, {x: 186, y: 214, name: "corner of mouth"}}},
	{class: "solid", closed: true, marks: []landmark{{x: 167, y: 162, name: "eye"}, {x: 175, y: 153}, {x: 187, y: 155}, {x: 190, y: 163}, {x: 178, y: 168}}},
	{class: "glint", closed: true, marks: []landmark{{x: 175, y: 158}, {x: 178, y: 156}, {x: 181, y: 158}, {x: 178, y: 161}}},
	{class: "fine", marks: []landmark{{x: 162, y: 146, name: "brow"}, {x: 178, y: 138}, {x: 198, y: 146}}},
	{class: "fine", marks: []landmark{{x: 118, y: 208, name: "whiskers"}, {x: 119, y: 209}}},
	{class: "fine", marks: []landmark{{x: 132, y: 204}, {x: 133, y: 205}}},
	{class: "fine", marks: []landmark{{x: 130, y: 216}, {x: 131, y: 217}}},
	{class: "line", marks: []landmark{
		{x: 222, y: 116, name: "ear base"}, {x: 212, y: 140}, {x: 208, y: 178}, {x: 214, y: 222}, {x: 232, y: 246, name: "ear tip"}, {x: 256, y: 232}, {x: 276, y: 196}, {x: 282, y: 160}, {x: 276, y: 132}, {x: 262, y: 112},
	}},
	{class: "fine", marks: []landmark{{x: 226, y: 134, name: "fold of the ear"}, {x: 240, y: 128}, {x: 256, y: 134}}},
	// Muscle and bone under the skin.
	{class: "fine", marks: []landmark{{x: 262, y: 256, name: "jugular furrow"}, {x: 292, y: 300}, {x: 306, y: 350}}},
	{class: "fine", marks: []landmark{{x: 412, y: 236, name: "scapula"}, {x: 384, y: 300}, {x: 344, y: 372}, {x: 318, y: 412}}},
	{class: "fine", marks: []landmark{{x: 432, y: 372, name: "triceps"}, {x: 448, y: 424}, {x: 440, y: 470, name: "elbow"}, {x: 424, y: 486}}},
	{class: "fine", marks: []landmark{{x: 658, y: 300, name: "thigh"}, {x: 646, y: 360}, {x: 656, y: 424}}},
	{class: "fine", marks: []landmark{{x: 524, y: 308, name: "ribs"}, {x: 536, y: 360}, {x: 526, y: 416}}},
	{class: "fine", marks: []landmark{{x: 562, y: 312}, {x: 574, y: 358}, {x: 566, y: 404}}},
	{class: "fine", marks: []landmark{{x: 598, y: 318, name: "last rib"}, {x: 608, y: 354}, {x: 602, y: 390}}},
	{class: "fine", marks: []landmark{{x: 806, y: 548, name: "tendon of the hock"}, {x: 812, y: 576}, {x: 802, y: 606}}},
	{class: "fine", marks: []landmark{{x: 378, y: 592, name: "carpal fold"}, {x: 388, y: 600}, {x: 392, y: 616}}},
	{class: "fine", marks: []landmark{{x: 334, y: 697, name: "toes"}, {x: 336, y: 684}, {x: 345, y: 676}}},
	{class: "fine", marks: []landmark{{x: 358, y: 698}, {x: 360, y: 685}, {x: 369, y: 677}}},
	{class: "fine", marks: []landmark{{x: 734, y: 697}, {x: 736, y: 684}, {x: 745, y: 676}}},
	{class: "fine", marks: []landmark{{x: 758, y: 698}, {x: 760, y: 685}, {x: 769, y: 677}}},
}}

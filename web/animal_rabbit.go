package web

// rabbit is a rabbit that crouches at ease with erect ears. Proportions: the
// ears as long as the head, the back highest over the loin, the hindquarter
// half of the trunk, the whole hind foot on the ground (drawn freehand, no source).
var rabbit = animal{posture: "crouching", height: 720, frame: "40 30 930 640", strokes: []stroke{
	// The far side, lighter and behind.
	{class: "far", marks: []landmark{{x: 250, y: 560, name: "far forelimb"}, {x: 232, y: 590}, {x: 204, y: 606}, {x: 194, y: 622, name: "far forepaw"}, {x: 206, y: 632}, {x: 250, y: 634}, {x: 300, y: 632}}},
	{class: "far", marks: []landmark{{x: 600, y: 600, name: "far hindfoot"}, {x: 540, y: 604}, {x: 512, y: 618}, {x: 522, y: 632}, {x: 620, y: 634}}},
	// The scut and the far ear lie behind the outline.
	{class: "line", closed: true, marks: []landmark{{x: 856, y: 402, name: "scut"}, {x: 888, y: 374}, {x: 922, y: 372}, {x: 934, y: 392}, {x: 938, y: 418}, {x: 928, y: 448}, {x: 906, y: 468}, {x: 856, y: 470}}},
	{class: "line", closed: true, marks: []landmark{{x: 208, y: 252, name: "far ear"}, {x: 206, y: 180}, {x: 222, y: 104}, {x: 246, y: 66, name: "far ear tip"}, {x: 262, y: 96}, {x: 262, y: 170}, {x: 250, y: 250}}},
	// The outline, from the nose over the back to the scut and home under the belly.
	{class: "line", closed: true, marks: []landmark{
		{x: 84, y: 372, name: "nose"}, {x: 88, y: 352}, {x: 106, y: 322, name: "bridge"}, {x: 138, y: 284, name: "forehead"}, {x: 180, y: 254}, {x: 226, y: 244, name: "poll"}, {x: 268, y: 256},
		{x: 304, y: 288, name: "nape"}, {x: 344, y: 304, name: "withers"}, {x: 410, y: 286}, {x: 490, y: 248, name: "back"}, {x: 580, y: 216}, {x: 668, y: 210, name: "loin"}, {x: 748, y: 232},
		{x: 812, y: 282, name: "rump"}, {x: 856, y: 356}, {x: 872, y: 432, name: "tail base"}, {x: 864, y: 514}, {x: 842, y: 580, name: "point of hock"}, {x: 816, y: 622}, {x: 776, y: 642},
		{x: 680, y: 646, name: "hindfoot"}, {x: 590, y: 644}, {x: 558, y: 636, name: "toes"}, {x: 556, y: 618}, {x: 580, y: 602}, {x: 622, y: 592, name: "flank fold", sharp: true},
		{x: 560, y: 592, name: "belly"}, {x: 470, y: 590}, {x: 400, y: 574, name: "elbow", sharp: true}, {x: 366, y: 592}, {x: 346, y: 616}, {x: 336, y: 642, sharp: true},
		{x: 290, y: 645}, {x: 252, y: 642}, {x: 242, y: 630, name: "forepaw"}, {x: 254, y: 612}, {x: 280, y: 596}, {x: 292, y: 570},
		{x: 266, y: 536, name: "breast"}, {x: 238, y: 490}, {x: 230, y: 440, name: "throat", sharp: true}, {x: 184, y: 446, name: "jaw"}, {x: 134, y: 430}, {x: 104, y: 412, name: "chin"}, {x: 90, y: 394, name: "lip"},
	}},
	// The face.
	{class: "line", closed: true, marks: []landmark{{x: 236, y: 270, name: "ear base"}, {x: 238, y: 200}, {x: 262, y: 116}, {x: 300, y: 54, name: "ear tip"}, {x: 322, y: 84}, {x: 316, y: 160}, {x: 292, y: 232}, {x: 268, y: 278}, {x: 248, y: 286}}},
	{class: "fine", marks: []landmark{{x: 252, y: 254, name: "opening of the ear"}, {x: 262, y: 180}, {x: 290, y: 100}}},
	{class: "solid", closed: true, marks: []landmark{{x: 144, y: 332, name: "eye"}, {x: 152, y: 316}, {x: 170, y: 314}, {x: 180, y: 328}, {x: 172, y: 344}, {x: 154, y: 346}}},
	{class: "glint", closed: true, marks: []landmark{{x: 154, y: 326}, {x: 158, y: 321}, {x: 163, y: 325}, {x: 158, y: 330}}},
	{class: "fine", marks: []landmark{{x: 140, y: 316, name: "brow"}, {x: 158, y: 302}, {x: 182, y: 308}}},
	{class: "line", marks: []landmark{{x: 86, y: 364, name: "nostril"}, {x: 96, y: 362}, {x: 102, y: 356}}},
	{class: "line", marks: []landmark{{x: 90, y: 374, name: "cleft lip"}, {x: 100, y: 386}, {x: 104, y: 400}, {x: 122, y: 402, name: "corner of mouth"}}},
	{class: "fine", marks: []landmark{{x: 116, y: 378, name: "whiskers"}, {x: 152, y: 376}, {x: 206, y: 390}}},
	{class: "fine", marks: []landmark{{x: 116, y: 386}, {x: 148, y: 392}, {x: 190, y: 414}}},
	{class: "fine", marks: []landmark{{x: 118, y: 370}, {x: 156, y: 362}, {x: 212, y: 364}}},
	{class: "fine", marks: []landmark{{x: 224, y: 340, name: "cheek"}, {x: 238, y: 376}, {x: 226, y: 416}}},
	// Muscle and bone under the skin.
	{class: "fine", marks: []landmark{{x: 346, y: 330, name: "scapula"}, {x: 342, y: 390}, {x: 326, y: 440}, {x: 304, y: 474}}},
	{class: "fine", marks: []landmark{{x: 386, y: 440, name: "triceps"}, {x: 408, y: 490}, {x: 406, y: 540}, {x: 396, y: 574, name: "elbow"}}},
	{class: "fine", marks: []landmark{{x: 690, y: 330, name: "thigh"}, {x: 620, y: 372}, {x: 576, y: 440}, {x: 570, y: 510, name: "stifle"}, {x: 594, y: 560}, {x: 622, y: 592}}},
	{class: "fine", marks: []landmark{{x: 622, y: 592, name: "shank"}, {x: 690, y: 592}, {x: 760, y: 598}, {x: 806, y: 590}}},
	{class: "fine", marks: []landmark{{x: 886, y: 400, name: "hair of the scut"}, {x: 904, y: 396}, {x: 916, y: 402}}},
	{class: "fine", marks: []landmark{{x: 884, y: 440}, {x: 900, y: 442}, {x: 912, y: 436}}},
	{class: "fine", marks: []landmark{{x: 248, y: 470, name: "dewlap"}, {x: 268, y: 496}, {x: 296, y: 506}}},
	{class: "fine", marks: []landmark{{x: 440, y: 400, name: "ribs"}, {x: 458, y: 440}, {x: 454, y: 490}}},
	{class: "fine", marks: []landmark{{x: 478, y: 390}, {x: 498, y: 430}, {x: 494, y: 480}}},
	{class: "fine", marks: []landmark{{x: 514, y: 378, name: "last rib"}, {x: 534, y: 414}, {x: 532, y: 456}}},
	{class: "fine", marks: []landmark{{x: 270, y: 644, name: "toes"}, {x: 272, y: 632}, {x: 280, y: 625}}},
	{class: "fine", marks: []landmark{{x: 294, y: 645}, {x: 296, y: 633}, {x: 304, y: 626}}},
	{class: "fine", marks: []landmark{{x: 584, y: 644}, {x: 586, y: 632}, {x: 596, y: 624}}},
	{class: "fine", marks: []landmark{{x: 612, y: 645}, {x: 614, y: 633}, {x: 624, y: 625}}},
}}

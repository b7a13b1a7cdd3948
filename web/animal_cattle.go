package web

// cattle is a standing dairy cow. Proportions: the trunk a fifth longer than
// the height at the withers, back straight, chest and belly deeper than half
// of it, udder down to the hock, cloven feet (drawn freehand, no source).
var cattle = animal{posture: "standing", height: 800, frame: "40 110 930 670", strokes: []stroke{
	// The limbs of the far side, lighter and behind.
	{class: "far", marks: []landmark{
		{x: 270, y: 480, name: "far elbow"}, {x: 272, y: 540}, {x: 266, y: 592, name: "far carpus"}, {x: 274, y: 624}, {x: 280, y: 668}, {x: 274, y: 704, name: "far fetlock"},
		{x: 256, y: 726, name: "far coronet"}, {x: 236, y: 752, name: "far claw", sharp: true}, {x: 304, y: 752, sharp: true}, {x: 308, y: 732, sharp: true}, {x: 324, y: 704}, {x: 316, y: 668}, {x: 322, y: 620},
	}},
	{class: "far", marks: []landmark{
		{x: 716, y: 560, name: "far stifle"}, {x: 756, y: 590, name: "far hock"}, {x: 764, y: 640}, {x: 760, y: 700, name: "far fetlock"},
		{x: 740, y: 726, name: "far coronet"}, {x: 718, y: 752, name: "far claw", sharp: true}, {x: 790, y: 752, sharp: true}, {x: 794, y: 732, sharp: true}, {x: 806, y: 704}, {x: 798, y: 650}, {x: 806, y: 600},
	}},
	// Tail and udder lie behind the outline.
	{class: "line", closed: true, marks: []landmark{
		{x: 856, y: 202, name: "tail head"}, {x: 888, y: 202}, {x: 912, y: 222}, {x: 922, y: 290}, {x: 924, y: 400}, {x: 924, y: 520}, {x: 938, y: 580, name: "switch"}, {x: 938, y: 640}, {x: 922, y: 698, name: "tail tip", sharp: true},
		{x: 914, y: 668}, {x: 908, y: 684, sharp: true}, {x: 898, y: 620}, {x: 902, y: 570}, {x: 908, y: 510}, {x: 906, y: 400}, {x: 902, y: 300}, {x: 886, y: 240},
	}},
	{class: "line", closed: true, udder: true, marks: []landmark{
		{x: 620, y: 520, name: "fore udder"}, {x: 640, y: 556}, {x: 672, y: 580}, {x: 680, y: 584}, {x: 680, y: 606}, {x: 690, y: 612, name: "fore teat"}, {x: 700, y: 606}, {x: 702, y: 588}, {x: 738, y: 592}, {x: 752, y: 592},
		{x: 754, y: 610}, {x: 764, y: 616, name: "hind teat"}, {x: 774, y: 610}, {x: 776, y: 588}, {x: 840, y: 570}, {x: 884, y: 516}, {x: 894, y: 440, name: "hind udder"}, {x: 872, y: 380}, {x: 700, y: 420},
	}},
	// The outline, from the muzzle over the back to the pin bone and home under the belly.
	{class: "line", closed: true, marks: []landmark{
		{x: 62, y: 320, name: "muzzle"}, {x: 58, y: 300}, {x: 64, y: 280}, {x: 86, y: 258, name: "bridge of the nose"}, {x: 122, y: 212}, {x: 144, y: 178, name: "forehead"}, {x: 164, y: 150}, {x: 192, y: 136, name: "poll"},
		{x: 222, y: 150}, {x: 262, y: 176, name: "crest"}, {x: 306, y: 196}, {x: 352, y: 204, name: "withers"}, {x: 420, y: 214}, {x: 540, y: 214, name: "back"}, {x: 640, y: 208, name: "loin"},
		{x: 712, y: 200, name: "hook bone"}, {x: 790, y: 206, name: "croup"}, {x: 846, y: 200, name: "tail head"}, {x: 874, y: 208}, {x: 896, y: 232, name: "pin bone"},
		{x: 894, y: 272}, {x: 884, y: 330}, {x: 876, y: 400}, {x: 866, y: 470}, {x: 868, y: 526, name: "tendon above the hock"}, {x: 888, y: 562, name: "point of hock"},
		{x: 886, y: 590}, {x: 876, y: 640, name: "hind cannon"}, {x: 876, y: 684}, {x: 882, y: 706, name: "fetlock"}, {x: 874, y: 718, name: "dewclaw"}, {x: 874, y: 736, name: "heel", sharp: true}, {x: 872, y: 762, sharp: true},
		{x: 796, y: 762, name: "claw", sharp: true}, {x: 818, y: 730, name: "coronet"}, {x: 836, y: 706}, {x: 840, y: 680}, {x: 840, y: 630}, {x: 840, y: 594, name: "hock"},
		{x: 824, y: 560}, {x: 786, y: 526}, {x: 748, y: 504, name: "stifle"}, {x: 724, y: 470, name: "flank fold", sharp: true},
		{x: 690, y: 506}, {x: 620, y: 534, name: "belly"}, {x: 540, y: 542}, {x: 460, y: 528}, {x: 404, y: 502, name: "girth", sharp: true},
		{x: 398, y: 542, name: "forearm"}, {x: 388, y: 576}, {x: 388, y: 604, name: "back of the carpus"}, {x: 376, y: 630}, {x: 374, y: 680, name: "cannon"}, {x: 382, y: 706, name: "fetlock"}, {x: 374, y: 718, name: "dewclaw"}, {x: 374, y: 736, name: "heel", sharp: true}, {x: 372, y: 762, sharp: true},
		{x: 298, y: 762, name: "claw", sharp: true}, {x: 318, y: 730, name: "coronet"}, {x: 334, y: 706}, {x: 338, y: 676}, {x: 332, y: 630}, {x: 322, y: 598, name: "carpus"}, {x: 326, y: 558}, {x: 316, y: 520},
		{x: 300, y: 490}, {x: 266, y: 494, name: "brisket"}, {x: 240, y: 470}, {x: 232, y: 426, name: "point of shoulder"}, {x: 240, y: 380}, {x: 244, y: 340, name: "dewlap"}, {x: 240, y: 306}, {x: 228, y: 276, name: "throat", sharp: true},
		{x: 214, y: 282, name: "angle of jaw"}, {x: 180, y: 304}, {x: 140, y: 326, name: "jaw"}, {x: 112, y: 348, name: "chin"}, {x: 86, y: 350}, {x: 76, y: 334, name: "lower lip"},
	}},
	// The face.
	{class: "line", closed: true, marks: []landmark{{x: 192, y: 184, name: "ear"}, {x: 218, y: 176}, {x: 254, y: 190}, {x: 284, y: 224, name: "ear tip", sharp: true}, {x: 246, y: 230}, {x: 210, y: 218}}},
	{class: "fine", marks: []landmark{{x: 204, y: 200, name: "opening of the ear"}, {x: 230, y: 200}, {x: 264, y: 218}}},
	{class: "solid", closed: true, marks: []landmark{{x: 140, y: 212, name: "eye"}, {x: 149, y: 201}, {x: 163, y: 203}, {x: 169, y: 213}, {x: 154, y: 219}}},
	{class: "glint", closed: true, marks: []landmark{{x: 150, y: 208}, {x: 153, y: 205}, {x: 156, y: 208}, {x: 153, y: 211}}},
	{class: "fine", marks: []landmark{{x: 138, y: 198, name: "brow"}, {x: 152, y: 188}, {x: 170, y: 196}}},
	{class: "solid", closed: true, marks: []landmark{{x: 72, y: 296, name: "nostril"}, {x: 76, y: 286}, {x: 88, y: 286}, {x: 86, y: 296}, {x: 78, y: 302}}},
	{class: "fine", marks: []landmark{{x: 84, y: 262, name: "edge of the muzzle"}, {x: 102, y: 284}, {x: 100, y: 312}}},
	{class: "line", marks: []landmark{{x: 72, y: 326, name: "mouth"}, {x: 96, y: 326}, {x: 120, y: 308, name: "corner of mouth"}}},
	{class: "fine", marks: []landmark{{x: 206, y: 234, name: "cheek"}, {x: 206, y: 260}, {x: 192, y: 284}}},
	{class: "fine", marks: []landmark{{x: 176, y: 146, name: "top knot"}, {x: 172, y: 160}, {x: 176, y: 172}}},
	// Muscle and bone under the skin.
	{class: "fine", marks: []landmark{{x: 258, y: 290, name: "jugular furrow"}, {x: 280, y: 330}, {x: 286, y: 372}}},
	{class: "fine", marks: []landmark{{x: 262, y: 392, name: "fold of the dewlap"}, {x: 252, y: 424}, {x: 260, y: 462}}},
	{class: "fine", marks: []landmark{{x: 356, y: 232, name: "scapula"}, {x: 336, y: 300}, {x: 306, y: 370}, {x: 278, y: 410}}},
	{class: "fine", marks: []landmark{{x: 412, y: 340, name: "triceps"}, {x: 420, y: 410}, {x: 404, y: 464, name: "elbow"}, {x: 370, y: 486}}},
	{class: "fine", marks: []landmark{{x: 732, y: 220, name: "hook bone"}, {x: 708, y: 226}, {x: 702, y: 248}}},
	{class: "fine", marks: []landmark{{x: 596, y: 256, name: "flank hollow"}, {x: 640, y: 276}, {x: 694, y: 262}}},
	{class: "fine", marks: []landmark{{x: 712, y: 330, name: "thigh"}, {x: 702, y: 400}, {x: 722, y: 468}}},
	{class: "fine", marks: []landmark{{x: 860, y: 250, name: "hamstring furrow"}, {x: 856, y: 330}, {x: 840, y: 410}}},
	{class: "fine", marks: []landmark{{x: 480, y: 320, name: "ribs"}, {x: 500, y: 384}, {x: 492, y: 450}}},
	{class: "fine", marks: []landmark{{x: 526, y: 310}, {x: 548, y: 374}, {x: 542, y: 440}}},
	{class: "fine", marks: []landmark{{x: 572, y: 300, name: "last rib"}, {x: 596, y: 360}, {x: 592, y: 424}}},
	{class: "fine", udder: true, marks: []landmark{{x: 480, y: 506, name: "milk vein"}, {x: 540, y: 518}, {x: 584, y: 508}, {x: 624, y: 514}}},
	{class: "fine", marks: []landmark{{x: 862, y: 566, name: "tendon of the hock"}, {x: 866, y: 594}, {x: 858, y: 620}}},
	{class: "fine", marks: []landmark{{x: 342, y: 592, name: "carpal fold"}, {x: 360, y: 600}, {x: 362, y: 614}}},
	{class: "fine", marks: []landmark{{x: 318, y: 730, name: "coronet"}, {x: 346, y: 730}, {x: 374, y: 736}}},
	{class: "fine", marks: []landmark{{x: 342, y: 731, name: "cleft of the claws"}, {x: 332, y: 746}, {x: 326, y: 761}}},
	{class: "fine", marks: []landmark{{x: 818, y: 730}, {x: 846, y: 730}, {x: 874, y: 736}}},
	{class: "fine", marks: []landmark{{x: 842, y: 731}, {x: 832, y: 746}, {x: 826, y: 761}}},
	{class: "fine", marks: []landmark{{x: 914, y: 560, name: "switch hair"}, {x: 918, y: 610}, {x: 916, y: 660}}},
}}

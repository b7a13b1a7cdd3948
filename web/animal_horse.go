package web

// horse is a standing riding horse. Proportions: as long from the point of the
// shoulder to the buttock as high at the withers, the head four tenths of that,
// chest a little less than half, a plumb line from the buttock along the hind
// cannon (drawn freehand, no source).
var horse = animal{posture: "standing", height: 920, frame: "40 8 940 896", strokes: []stroke{
	// The limbs of the far side, lighter and behind.
	{class: "far", marks: []landmark{
		{x: 300, y: 520, name: "far elbow"}, {x: 296, y: 590}, {x: 288, y: 650}, {x: 282, y: 688, name: "far carpus"}, {x: 288, y: 716}, {x: 288, y: 770}, {x: 282, y: 800, name: "far fetlock"},
		{x: 262, y: 836, name: "far coronet"}, {x: 240, y: 872, name: "far toe", sharp: true}, {x: 302, y: 872, sharp: true}, {x: 304, y: 846, sharp: true}, {x: 310, y: 830}, {x: 324, y: 808}, {x: 320, y: 770}, {x: 324, y: 716}, {x: 336, y: 684}, {x: 350, y: 620},
	}},
	{class: "far", marks: []landmark{
		{x: 690, y: 545, name: "far stifle"}, {x: 722, y: 590}, {x: 748, y: 640, name: "far hock"}, {x: 756, y: 680}, {x: 756, y: 730}, {x: 750, y: 790, name: "far fetlock"},
		{x: 728, y: 834, name: "far coronet"}, {x: 704, y: 872, name: "far toe", sharp: true}, {x: 768, y: 872, sharp: true}, {x: 772, y: 846, sharp: true}, {x: 776, y: 830}, {x: 790, y: 804}, {x: 786, y: 740}, {x: 794, y: 690}, {x: 800, y: 654}, {x: 790, y: 610},
	}},
	// The tail and the far ear lie behind the outline.
	{class: "line", closed: true, marks: []landmark{
		{x: 824, y: 306, name: "dock"}, {x: 872, y: 320}, {x: 908, y: 366}, {x: 930, y: 450}, {x: 938, y: 560}, {x: 934, y: 650}, {x: 916, y: 738, name: "tail tip", sharp: true},
		{x: 904, y: 716}, {x: 900, y: 730, sharp: true}, {x: 892, y: 670}, {x: 888, y: 600}, {x: 880, y: 500}, {x: 860, y: 380},
	}},
	{class: "line", closed: true, marks: []landmark{{x: 178, y: 96, name: "far ear"}, {x: 170, y: 62}, {x: 178, y: 26, sharp: true}, {x: 198, y: 50}, {x: 204, y: 88}}},
	// The outline, from the upper lip over the back to the buttock and home under the belly.
	{class: "line", closed: true, marks: []landmark{
		{x: 70, y: 296, name: "upper lip"}, {x: 72, y: 272}, {x: 86, y: 246, name: "end of the nasal bone"}, {x: 112, y: 200, name: "bridge"}, {x: 140, y: 146}, {x: 160, y: 110, name: "forehead"}, {x: 182, y: 84, name: "poll"},
		{x: 216, y: 78}, {x: 252, y: 96, name: "crest"}, {x: 304, y: 140}, {x: 348, y: 196}, {x: 380, y: 242}, {x: 402, y: 258}, {x: 434, y: 262, name: "withers"}, {x: 474, y: 284}, {x: 548, y: 308, name: "back"}, {x: 630, y: 308, name: "loin"},
		{x: 700, y: 288, name: "croup"}, {x: 756, y: 286}, {x: 806, y: 298}, {x: 846, y: 322, name: "tail base"}, {x: 872, y: 358},
		{x: 886, y: 402, name: "point of the buttock"}, {x: 886, y: 456}, {x: 876, y: 524}, {x: 860, y: 576}, {x: 860, y: 616, name: "tendon above the hock"}, {x: 878, y: 650, name: "point of hock"},
		{x: 876, y: 682}, {x: 866, y: 734, name: "hind cannon"}, {x: 868, y: 786}, {x: 872, y: 808, name: "fetlock"}, {x: 854, y: 830, name: "pastern"}, {x: 850, y: 850, name: "heel", sharp: true}, {x: 848, y: 882, sharp: true},
		{x: 780, y: 882, name: "toe", sharp: true}, {x: 806, y: 838, name: "coronet"}, {x: 826, y: 802}, {x: 832, y: 780}, {x: 834, y: 730}, {x: 832, y: 684, name: "hock"},
		{x: 822, y: 644}, {x: 798, y: 602, name: "gaskin"}, {x: 762, y: 574}, {x: 742, y: 548, name: "stifle"}, {x: 740, y: 510, name: "flank fold", sharp: true},
		{x: 690, y: 556}, {x: 610, y: 584, name: "belly"}, {x: 520, y: 588}, {x: 438, y: 572, name: "girth", sharp: true},
		{x: 424, y: 612, name: "forearm"}, {x: 404, y: 656}, {x: 404, y: 690, name: "back of the carpus"}, {x: 394, y: 722}, {x: 390, y: 772, name: "cannon"}, {x: 396, y: 808, name: "fetlock"}, {x: 379, y: 830, name: "pastern"}, {x: 376, y: 850, name: "heel", sharp: true}, {x: 374, y: 882, sharp: true},
		{x: 308, y: 882, name: "toe", sharp: true}, {x: 334, y: 838, name: "coronet"}, {x: 352, y: 804}, {x: 358, y: 774}, {x: 354, y: 722}, {x: 346, y: 690, name: "carpus"}, {x: 348, y: 652}, {x: 338, y: 590}, {x: 318, y: 540},
		{x: 292, y: 496, name: "breast"}, {x: 276, y: 444, name: "point of shoulder"}, {x: 280, y: 392}, {x: 284, y: 334}, {x: 278, y: 270}, {x: 264, y: 212}, {x: 248, y: 172, name: "throat", sharp: true},
		{x: 246, y: 206, name: "angle of jaw"}, {x: 222, y: 236}, {x: 174, y: 272, name: "jaw"}, {x: 128, y: 308, name: "chin groove"}, {x: 112, y: 328, name: "chin"}, {x: 92, y: 326}, {x: 84, y: 312, name: "lower lip"},
	}},
	// The face.
	{class: "line", closed: true, marks: []landmark{{x: 200, y: 100, name: "ear"}, {x: 194, y: 64}, {x: 206, y: 20, name: "ear tip", sharp: true}, {x: 226, y: 52}, {x: 228, y: 92}}},
	{class: "fine", marks: []landmark{{x: 212, y: 90, name: "opening of the ear"}, {x: 206, y: 64}, {x: 207, y: 36}}},
	{class: "solid", closed: true, marks: []landmark{{x: 154, y: 150, name: "eye"}, {x: 163, y: 139}, {x: 177, y: 141}, {x: 183, y: 152}, {x: 168, y: 157}}},
	{class: "glint", closed: true, marks: []landmark{{x: 164, y: 146}, {x: 167, y: 143}, {x: 170, y: 146}, {x: 167, y: 149}}},
	{class: "fine", marks: []landmark{{x: 152, y: 136, name: "brow"}, {x: 166, y: 126}, {x: 184, y: 134}}},
	{class: "solid", closed: true, marks: []landmark{{x: 82, y: 278, name: "nostril"}, {x: 90, y: 264}, {x: 100, y: 264}, {x: 98, y: 274}, {x: 88, y: 286}}},
	{class: "line", marks: []landmark{{x: 78, y: 306, name: "mouth"}, {x: 94, y: 306}, {x: 112, y: 292, name: "corner of mouth"}}},
	{class: "fine", marks: []landmark{{x: 178, y: 178, name: "facial crest"}, {x: 160, y: 204}, {x: 142, y: 220}}},
	{class: "fine", marks: []landmark{{x: 226, y: 124, name: "cheek"}, {x: 216, y: 166}, {x: 222, y: 206}}},
	// The mane.
	{class: "fine", marks: []landmark{{x: 190, y: 84, name: "forelock"}, {x: 172, y: 104}, {x: 162, y: 130}}},
	{class: "fine", marks: []landmark{{x: 186, y: 82}, {x: 164, y: 102}, {x: 152, y: 124}}},
	{class: "fine", marks: []landmark{
		{x: 234, y: 94, name: "mane"}, {x: 250, y: 118}, {x: 258, y: 152, sharp: true}, {x: 260, y: 138}, {x: 274, y: 160}, {x: 280, y: 192, sharp: true}, {x: 284, y: 172},
		{x: 298, y: 196}, {x: 304, y: 228, sharp: true}, {x: 308, y: 204}, {x: 322, y: 226}, {x: 330, y: 256, sharp: true}, {x: 334, y: 232}, {x: 348, y: 250}, {x: 360, y: 276, sharp: true}, {x: 366, y: 256}, {x: 376, y: 244},
	}},
	{class: "fine", marks: []landmark{{x: 252, y: 100}, {x: 272, y: 126}, {x: 280, y: 160}}},
	{class: "fine", marks: []landmark{{x: 276, y: 118}, {x: 296, y: 150}, {x: 304, y: 188}}},
	{class: "fine", marks: []landmark{{x: 302, y: 144}, {x: 322, y: 178}, {x: 330, y: 216}}},
	{class: "fine", marks: []landmark{{x: 328, y: 174}, {x: 348, y: 206}, {x: 354, y: 238}}},
	// Muscle and bone under the skin.
	{class: "fine", marks: []landmark{{x: 272, y: 200, name: "jugular furrow"}, {x: 298, y: 280}, {x: 308, y: 366}}},
	{class: "fine", marks: []landmark{{x: 424, y: 302, name: "scapula"}, {x: 386, y: 352}, {x: 336, y: 414}, {x: 296, y: 446}}},
	{class: "fine", marks: []landmark{{x: 446, y: 400, name: "triceps"}, {x: 452, y: 470}, {x: 432, y: 530, name: "elbow"}, {x: 402, y: 548}}},
	{class: "fine", marks: []landmark{{x: 726, y: 318, name: "point of the hip"}, {x: 706, y: 326}, {x: 700, y: 344}}},
	{class: "fine", marks: []landmark{{x: 718, y: 400, name: "thigh"}, {x: 716, y: 456}, {x: 738, y: 508}}},
	{class: "fine", marks: []landmark{{x: 838, y: 380, name: "hamstring furrow"}, {x: 842, y: 450}, {x: 826, y: 530}}},
	{class: "fine", marks: []landmark{{x: 540, y: 400, name: "ribs"}, {x: 556, y: 460}, {x: 548, y: 524}}},
	{class: "fine", marks: []landmark{{x: 588, y: 400}, {x: 602, y: 454}, {x: 596, y: 510}}},
	{class: "fine", marks: []landmark{{x: 634, y: 398, name: "last rib"}, {x: 648, y: 440}, {x: 644, y: 488}}},
	{class: "fine", marks: []landmark{{x: 852, y: 650, name: "tendon of the hock"}, {x: 856, y: 684}, {x: 848, y: 716}}},
	{class: "fine", marks: []landmark{{x: 848, y: 726, name: "splint bone"}, {x: 848, y: 772}}},
	{class: "fine", marks: []landmark{{x: 364, y: 680, name: "carpal fold"}, {x: 382, y: 688}, {x: 384, y: 704}}},
	{class: "fine", marks: []landmark{{x: 374, y: 726, name: "flexor tendons"}, {x: 374, y: 778}}},
	{class: "fine", marks: []landmark{{x: 334, y: 838, name: "coronet"}, {x: 354, y: 842}, {x: 376, y: 850}}},
	{class: "fine", marks: []landmark{{x: 806, y: 838}, {x: 828, y: 842}, {x: 850, y: 850}}},
	{class: "fine", marks: []landmark{{x: 888, y: 372, name: "tail hair"}, {x: 910, y: 470}, {x: 914, y: 640}}},
	{class: "fine", marks: []landmark{{x: 904, y: 520}, {x: 908, y: 620}, {x: 914, y: 716}}},
}}

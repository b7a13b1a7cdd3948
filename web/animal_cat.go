package web

// cat is a standing short-haired cat. Proportions: the trunk a sixth longer than
// the height at the shoulder, the head a third of it, the loin as high as the
// shoulder or higher, the tail as long as the back (drawn freehand, no source).
var cat = animal{posture: "standing", height: 720, frame: "30 60 950 620", strokes: []stroke{
	// The limbs of the far side, lighter and behind.
	{class: "far", marks: []landmark{
		{x: 262, y: 440, name: "far elbow"}, {x: 262, y: 500}, {x: 256, y: 560, name: "far carpus"}, {x: 254, y: 596}, {x: 238, y: 612}, {x: 214, y: 626}, {x: 206, y: 642, name: "far forepaw"}, {x: 216, y: 651}, {x: 258, y: 653},
		{x: 284, y: 650}, {x: 292, y: 630}, {x: 296, y: 590}, {x: 306, y: 540},
	}},
	{class: "far", marks: []landmark{
		{x: 612, y: 440, name: "far stifle"}, {x: 636, y: 500}, {x: 664, y: 536, name: "far hock"}, {x: 668, y: 572}, {x: 660, y: 606}, {x: 640, y: 616}, {x: 616, y: 626}, {x: 606, y: 642, name: "far hindpaw"}, {x: 616, y: 651}, {x: 660, y: 653},
		{x: 684, y: 648}, {x: 692, y: 620}, {x: 704, y: 560},
	}},
	// The tail and the far ear lie behind the outline.
	{class: "line", closed: true, marks: []landmark{
		{x: 724, y: 256, name: "tail base"}, {x: 772, y: 282}, {x: 814, y: 338}, {x: 846, y: 412}, {x: 878, y: 462}, {x: 914, y: 470}, {x: 940, y: 440}, {x: 956, y: 420, name: "tail tip"}, {x: 968, y: 430},
		{x: 960, y: 466}, {x: 928, y: 500}, {x: 880, y: 500}, {x: 836, y: 460}, {x: 802, y: 386}, {x: 774, y: 332}, {x: 742, y: 304},
	}},
	{class: "line", closed: true, marks: []landmark{{x: 124, y: 160, name: "far ear"}, {x: 118, y: 128}, {x: 124, y: 96, sharp: true}, {x: 150, y: 112}, {x: 172, y: 140}}},
	// The outline, from the nose over the back to the hip and home under the belly.
	{class: "line", closed: true, marks: []landmark{
		{x: 74, y: 246, name: "nose"}, {x: 78, y: 234}, {x: 88, y: 216, name: "bridge"}, {x: 95, y: 198, name: "stop"}, {x: 106, y: 174, name: "forehead"}, {x: 130, y: 152}, {x: 168, y: 140, name: "poll"}, {x: 214, y: 146},
		{x: 250, y: 174, name: "nape"}, {x: 286, y: 208}, {x: 318, y: 228}, {x: 354, y: 234, name: "withers"}, {x: 404, y: 246}, {x: 460, y: 246, name: "back"}, {x: 530, y: 232}, {x: 600, y: 220, name: "loin"}, {x: 660, y: 226, name: "croup"},
		{x: 710, y: 248}, {x: 744, y: 286, name: "rump"}, {x: 760, y: 336, name: "ischium"}, {x: 758, y: 400}, {x: 744, y: 456}, {x: 744, y: 496}, {x: 764, y: 532, name: "point of hock"},
		{x: 766, y: 556}, {x: 758, y: 600}, {x: 752, y: 640}, {x: 742, y: 660, sharp: true}, {x: 706, y: 664}, {x: 676, y: 660}, {x: 667, y: 648, name: "hindpaw"}, {x: 676, y: 631}, {x: 702, y: 616}, {x: 718, y: 598}, {x: 726, y: 562, name: "hock"},
		{x: 708, y: 530}, {x: 666, y: 498}, {x: 628, y: 468, name: "stifle"}, {x: 602, y: 424, name: "flank fold", sharp: true},
		{x: 556, y: 446, name: "belly"}, {x: 490, y: 456}, {x: 420, y: 450}, {x: 386, y: 440, name: "sternum", sharp: true},
		{x: 378, y: 490}, {x: 358, y: 546}, {x: 352, y: 582, name: "carpus"}, {x: 350, y: 616}, {x: 346, y: 644}, {x: 338, y: 661, sharp: true}, {x: 304, y: 664}, {x: 276, y: 660}, {x: 267, y: 648, name: "forepaw"}, {x: 277, y: 630}, {x: 298, y: 614}, {x: 308, y: 594}, {x: 310, y: 556},
		{x: 306, y: 500}, {x: 288, y: 452}, {x: 258, y: 414}, {x: 242, y: 374, name: "point of shoulder"}, {x: 238, y: 334, name: "chest"}, {x: 228, y: 292, name: "throat", sharp: true},
		{x: 208, y: 296, name: "cheek"}, {x: 182, y: 304, sharp: true}, {x: 146, y: 303}, {x: 110, y: 298, name: "jaw"}, {x: 90, y: 290, name: "chin"}, {x: 83, y: 276}, {x: 77, y: 262, name: "lip"},
	}},
	// The face.
	{class: "line", marks: []landmark{{x: 156, y: 166, name: "ear base"}, {x: 158, y: 128}, {x: 176, y: 82, name: "ear tip", sharp: true}, {x: 208, y: 110}, {x: 236, y: 160}, {x: 236, y: 178}}},
	{class: "fine", marks: []landmark{{x: 172, y: 170, name: "opening of the ear"}, {x: 172, y: 136}, {x: 181, y: 106}}},
	{class: "fine", marks: []landmark{{x: 172, y: 170}, {x: 196, y: 152}, {x: 206, y: 124}}},
	{class: "fine", marks: []landmark{{x: 228, y: 158, name: "fold of the ear"}, {x: 220, y: 166}, {x: 222, y: 174}}},
	{class: "line", closed: true, marks: []landmark{{x: 109, y: 222, name: "eye"}, {x: 112, y: 204}, {x: 126, y: 196}, {x: 142, y: 202}, {x: 147, y: 212}, {x: 132, y: 223}}},
	{class: "solid", closed: true, marks: []landmark{{x: 123, y: 199, name: "pupil"}, {x: 128, y: 210}, {x: 124, y: 221}, {x: 118, y: 210}}},
	{class: "fine", marks: []landmark{{x: 108, y: 192, name: "brow"}, {x: 126, y: 182}, {x: 146, y: 190}}},
	{class: "solid", closed: true, marks: []landmark{{x: 74, y: 246}, {x: 77, y: 237}, {x: 86, y: 239}, {x: 85, y: 247}, {x: 78, y: 254}}},
	{class: "line", marks: []landmark{{x: 79, y: 258, name: "philtrum"}, {x: 86, y: 272, name: "lip"}, {x: 104, y: 276}, {x: 122, y: 268, name: "corner of mouth"}}},
	{class: "fine", marks: []landmark{{x: 102, y: 258, name: "whiskers"}, {x: 140, y: 260}, {x: 190, y: 278}}},
	{class: "fine", marks: []landmark{{x: 102, y: 250}, {x: 142, y: 244}, {x: 196, y: 250}}},
	{class: "fine", marks: []landmark{{x: 102, y: 264}, {x: 134, y: 276}, {x: 174, y: 298}}},
	{class: "fine", marks: []landmark{{x: 208, y: 216, name: "cheek"}, {x: 218, y: 244}, {x: 210, y: 272}}},
	// Muscle and bone under the skin.
	{class: "fine", marks: []landmark{{x: 356, y: 254, name: "scapula"}, {x: 334, y: 306}, {x: 292, y: 362}, {x: 258, y: 388}}},
	{class: "fine", marks: []landmark{{x: 384, y: 330, name: "triceps"}, {x: 402, y: 380}, {x: 396, y: 424, name: "elbow"}, {x: 372, y: 446}}},
	{class: "fine", marks: []landmark{{x: 618, y: 300, name: "thigh"}, {x: 598, y: 352}, {x: 600, y: 424}}},
	{class: "fine", marks: []landmark{{x: 464, y: 322, name: "ribs"}, {x: 476, y: 362}, {x: 468, y: 404}}},
	{class: "fine", marks: []landmark{{x: 500, y: 322}, {x: 512, y: 358}, {x: 506, y: 396}}},
	{class: "fine", marks: []landmark{{x: 534, y: 322, name: "last rib"}, {x: 544, y: 352}, {x: 540, y: 384}}},
	{class: "fine", marks: []landmark{{x: 740, y: 538, name: "tendon of the hock"}, {x: 744, y: 562}, {x: 734, y: 590}}},
	{class: "fine", marks: []landmark{{x: 322, y: 580, name: "carpal fold"}, {x: 334, y: 586}, {x: 337, y: 600}}},
	{class: "fine", marks: []landmark{{x: 284, y: 663, name: "toes"}, {x: 286, y: 650}, {x: 294, y: 642}}},
	{class: "fine", marks: []landmark{{x: 310, y: 664}, {x: 312, y: 651}, {x: 320, y: 643}}},
	{class: "fine", marks: []landmark{{x: 682, y: 663}, {x: 684, y: 650}, {x: 692, y: 642}}},
	{class: "fine", marks: []landmark{{x: 708, y: 664}, {x: 710, y: 651}, {x: 718, y: 643}}},
}}

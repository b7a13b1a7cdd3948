package senses

import "slices"

// piece is what of an animal a stroke belongs to, or where a landmark lies.
type piece int

const (
	trunk piece = iota
	ear
	tail
	farFore
	farHind
	rib
	bone // a mark of bone that shows under the skin
	udder
)

// onTrunk says whether a landmark goes with the trunk.
func (p piece) onTrunk() bool { return p == trunk || p == rib || p == bone || p == udder }

// stroke is one line of the pen through landmarks of an animal in profile.
type stroke struct {
	pen   pen
	piece piece
	dots  []dot
}

// body is an animal in profile, head to the left, in thousandths of its
// drawing, with the joints about which it is posed.
type body struct {
	strokes []stroke
	bones
}

// bones are the joints and limits of a body. A band is two abscissae between
// which a movement fades out.
type bones struct {
	scale, left, top, ground    int // thousandths and units on the picture; the foot of the drawing
	neck, head, ear, tail       dot
	elbow, carpus, stifle, hock dot
	neckBand, headBand          [2]int // from still to moved
	fore, hind                  [2]int // where the near limbs lie
	tailFrom                    int    // where a tail that is part of the outline begins; 0: it has strokes of its own
	back, belly                 int    // the height of both lines in the middle of the trunk
	earBack                     int    // 1 or -1: the sense in which an ear turns back
}

// move changes where a landmark lies: from is where it was drawn, at where the
// moves before this one have put it.
type move func(b *bones, of piece, from, at dot) dot

// posed draws the body as moves put it.
func (s *still) posed(b *body, moves ...move) { s.posedBut(nil, b, moves...) }

// posedBut draws the body without some of its pieces.
func (s *still) posedBut(without []piece, b *body, moves ...move) {
	for _, st := range b.strokes {
		if slices.Contains(without, st.piece) {
			continue
		}
		dots := make([]dot, len(st.dots))
		for i, from := range st.dots {
			at := from
			for _, m := range moves {
				at = m(&b.bones, st.piece, from, at)
			}
			dots[i] = dot{b.left + at[0]*b.scale/1000, b.top + at[1]*b.scale/1000, from[2]}
		}
		s.path(st.pen, dots, st.pen == coat || st.pen == behind || st.pen == solid)
	}
}

// spot is where a landmark comes to lie on the picture.
func (b *body) spot(of piece, from dot, moves ...move) dot {
	at := from
	for _, m := range moves {
		at = m(&b.bones, of, from, at)
	}
	return dot{b.left + at[0]*b.scale/1000, b.top + at[1]*b.scale/1000, from[2]}
}

// inHead says how much a landmark goes with the neck or the head, in thousandths.
func (b *bones) inHead(of piece, from dot, band [2]int) int {
	switch of {
	case ear:
		return 1000
	case farFore, farHind, tail:
		return 0
	}
	return ramp(from[0], band[0], band[1]) * (1000 - ramp(from[1], b.elbow[1]-140, b.elbow[1]-10)) / 1000
}

// nod turns neck and head by degrees, downwards below 0.
func nod(degrees int) move {
	return func(b *bones, of piece, from, at dot) dot {
		return turned(at, b.neck, degrees*b.inHead(of, from, b.neckBand))
	}
}

// tip turns the head alone, the nose upwards above 0.
func tip(degrees int) move {
	return func(b *bones, of piece, from, at dot) dot {
		return turned(at, b.head, degrees*b.inHead(of, from, b.headBand))
	}
}

// prick turns the ears, back above 0. It comes before moves of the head.
func prick(degrees int) move {
	return func(b *bones, of piece, _, at dot) dot {
		if of != ear {
			return at
		}
		return turned(at, b.ear, degrees*1000*b.earBack)
	}
}

// wag turns the tail, down above 0.
func wag(degrees int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if of != tail && (b.tailFrom == 0 || from[0] < b.tailFrom || from[1] > b.elbow[1]) {
			return at
		}
		return turned(at, b.tail, degrees*1000)
	}
}

// arch raises back, loin and belly in the middle of the trunk.
func arch(back, belly int) move {
	return func(b *bones, of piece, from, at dot) dot {
		if !of.onTrunk() {
			return at
		}
		mid := (b.fore[1] + b.hind[0]) / 2
		w := ramp(from[0], b.fore[0]-40, mid)
		if from[0] > mid {
			w = 1000 - ramp(from[0], mid, b.hind[1]+60)
		}
		low := ramp(from[1], b.elbow[1]-220, b.elbow[1]-60)
		at[1] -= (back*(1000-low) + belly*low) / 1000 * w * (1000 - ramp(from[1], b.elbow[1]+20, b.elbow[1]+80)) / 1000000
		return at
	}
}

// squat lowers the whole body to a share of its height, in thousandths.
func squat(share int) move {
	return func(b *bones, _ piece, _, at dot) dot {
		at[1] = b.ground - (b.ground-at[1])*share/1000
		return at
	}
}

// tuck folds the limbs under the trunk, which comes down on to them: share is
// what is seen of them, in thousandths.
func tuck(share int) move {
	return func(b *bones, _ piece, _, at dot) dot {
		top := b.elbow[1] - 20
		if at[1] > top {
			at[1] = top + (at[1]-top)*share/1000
		}
		at[1] += (b.ground - top) * (1000 - share) / 1000
		return at
	}
}

// stride sets the feet of the fore or the hind limbs ahead, behind below 0.
func stride(fore, hind int) move {
	return func(b *bones, of piece, from, at dot) dot {
		deep := ramp(from[1], b.elbow[1]-30, b.ground)
		switch {
		case of == farFore || of == trunk && from[0] >= b.fore[0] && from[0] <= b.fore[1]:
			at[0] -= fore * deep / 1000
		case of == farHind || of == trunk && from[0] >= b.hind[0] && from[0] <= b.hind[1]:
			at[0] -= hind * deep / 1000
		}
		return at
	}
}

// bend flexes a near limb: the upper part turns at its first joint, the lower
// at its second, forwards above 0.
func bend(hindLimb bool, upper, lower int) move {
	return func(b *bones, of piece, from, at dot) dot {
		first, second, reach := b.elbow, b.carpus, b.fore
		if hindLimb {
			first, second, reach = b.stifle, b.hock, b.hind
		}
		if of != trunk || from[0] < reach[0] || from[0] > reach[1] || from[1] < first[1] {
			return at
		}
		at = turned(at, second, lower*ramp(from[1], second[1]-14, second[1]+26))
		return turned(at, first, upper*ramp(from[1], first[1], first[1]+50))
	}
}

// lean sets the trunk back over feet that stay.
func lean(by int) move {
	return func(b *bones, _ piece, _, at dot) dot {
		at[0] += by * (b.ground - at[1]) / b.ground
		return at
	}
}

// bow lowers the forehand to a share of its height and leaves the rump high.
func bow(share int) move {
	return func(b *bones, of piece, from, at dot) dot {
		hip := b.hind[0] + 60
		w := ramp(from[0], hip, b.fore[0])
		if of == ear {
			w = 1000
		}
		if b.inHead(of, from, b.neckBand) > 500 { // the head keeps its shape
			at[1] += (b.ground - b.neck[1]) * (1000 - share) / 1000
			return at
		}
		at[1] = b.ground - (b.ground-at[1])*(1000-w*(1000-share)/1000)/1000
		return at
	}
}

// sprawl stretches the limbs out along the floor, by degrees, forwards above 0,
// and lets the trunk down on to it.
func sprawl(fore, hind int) move {
	return func(b *bones, of piece, from, at dot) dot {
		down := b.ground - b.belly - 40
		near := func(reach [2]int, joint dot, degrees int) dot {
			if from[0] >= reach[0] && from[0] <= reach[1] {
				at = turned(at, joint, degrees*ramp(from[1], joint[1]-30, joint[1]+40))
			}
			return at
		}
		switch {
		case of == farFore:
			at = turned(at, dot{b.elbow[0], b.elbow[1]}, (fore-16)*1000)
		case of == farHind:
			at = turned(at, dot{b.stifle[0] + 40, b.stifle[1]}, (hind-12)*1000)
		case of == trunk && from[0] < (b.fore[1]+b.hind[0])/2:
			at = near(b.fore, b.elbow, fore)
		case of == trunk:
			at = near(b.hind, dot{b.stifle[0] + 40, b.stifle[1]}, hind)
		}
		at[1] += down
		return at
	}
}

// shrunk makes the whole smaller towards a place on the floor.
func shrunk(share int) move {
	return func(b *bones, _ piece, _, at dot) dot {
		return dot{600 + (at[0]-600)*share/1000, b.ground + (at[1]-b.ground)*share/1000}
	}
}

// rear tilts the forehand up about the hind foot, by degrees, down below 0.
func rear(degrees int) move {
	return func(b *bones, _ piece, _, at dot) dot {
		return turned(at, dot{b.hind[1] - 60, b.ground}, degrees*1000)
	}
}

// upended turns the body over on its back.
func upended() move {
	return func(b *bones, _ piece, _, at dot) dot {
		at[1] = b.ground - at[1]*7/8 + 30
		return at
	}
}

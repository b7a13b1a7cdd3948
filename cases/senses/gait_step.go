package senses

// step is an animal at a moment of a stride.
type step struct {
	Gait
	walker
	leg
	stride, at int // the number of the stride, and the thousandths of it that are over
	shown
}

// shown is all that a frame shows; two that are alike are the same picture.
type shown struct {
	carriage
	feet [4]foot
	gone int // units of ground that have passed in this stride
	bend int // units that the ground is curved
}

// carriage is how the trunk is carried.
type carriage struct {
	head  int    // degrees that the head is raised
	rump  int    // units that the rump is raised
	rise  int    // units that the trunk is raised
	down  [3]int // units across and down, and degrees, on the way from a ledge
	aloft bool   // it is on that way
}

// foot is where a foot is, in units from where it stands, and how it is turned.
type foot struct {
	x, y, turn int
	stands     bool
}

func (g Gait) stepping(l leg, stride, at int) *step {
	s := &step{Gait: g, walker: walkers[g.Species], leg: l, stride: stride, at: at}
	if l.leaps {
		s.leap((at*l.frames + 999) / 1000)
		return s
	}
	for i := range s.feet {
		s.feet[i] = s.foot(i)
	}
	s.nods()
	s.rise = l.bounce * (1000 - abs(tide(2*at+250))) / 1000
	if g.Species == "rabbit" {
		s.rise = l.bounce * max(0, tide(at-150)) / 500
	}
	s.gone = l.ground * at / 1000
	if l.spares == 2 {
		s.bend = 26
	}
	return s
}

// spares is how a limb is spared in this stride.
func (s *step) spares(i int) (spare, int) {
	sp := spared[s.Species][min(max(s.Lame[i], 0), 5)]
	much := sp.in[s.leg.spares]
	if sp.rare && s.stride%3 != 1 {
		much = 0
	}
	return sp, much
}

// bearing is how long a foot stands: shorter where it is spared, longer where
// its fellow is.
func (s *step) bearing(i int) int {
	_, own := s.spares(i)
	_, other := s.spares(i ^ 1)
	return s.bears * (1000 - own*45/100 + other*12/100) / 1000
}

// foot is where a foot is at this moment. While it stands it goes back with the
// ground; then it swings forward.
func (s *step) foot(i int) foot {
	sp, much := s.spares(i)
	if sp.lifts {
		return foot{x: -20 + 14*tide(s.at)/1000, y: -120 - 10*tide(s.at+250)/1000, turn: 40}
	}
	bears := s.bearing(i)
	if sp.toe && s.stride%3 == 2 {
		return foot{x: s.ground * tide(s.at+s.steps[i]) / 8000, y: -70, turn: 35}
	}
	ground, lift := s.ground, s.lift
	if s.Manner == Stiff {
		ground, lift = ground*min(450+s.stride*90, 800)/1000, lift*4/10
	}
	half := ground * bears / 2000
	t := (s.at - s.steps[i] + 2000) % 1000
	f := foot{stands: t < bears}
	if f.stands {
		f.x = half*2*t/bears - half
		if sp.toe {
			f.y, f.turn = -20, -28
		}
	} else {
		t = (t - bears) * 1000 / (1000 - bears)
		f.x = half - 2*half*swing(t)/1000
		f.y = -lift * bhaskara(t*(1<<15)/1000) >> 15
		f.turn = 50 * bhaskara(t*(1<<15)/700) >> 15
		if much > 0 {
			f.y = f.y * (1000 + much/3) / 1000
		}
	}
	s.unsure(i, t, &f)
	return f
}

// unsure changes how a hind foot is placed.
func (s *step) unsure(i, t int, f *foot) {
	if i < nearHind {
		return
	}
	odd := noise(s.stride*7 + i*3 + 1)
	switch s.Manner {
	case Swaying:
		f.x += odd.next() * 44 / 128
		if !f.stands {
			f.y = f.y * 3 / 2
		}
	case Knuckled:
		if !f.stands {
			f.y, f.turn = f.y/6, 70
		} else if (s.stride+i)%2 == 0 && t < 500 {
			f.turn, f.y = 75, -14
		}
	case Splayed:
		if i == nearHind && f.stands {
			f.x += 130 * swing(min(1000, t*1000/s.bears)) / 1000
			f.turn = -16
		}
	}
}

// nods raises the head while a lame forelimb bears weight and lowers it on the
// other, and raises the rump over a lame hind limb (common practice, no source).
func (s *step) nods() {
	for i := range s.feet {
		sp, much := s.spares(i)
		if much == 0 {
			continue
		}
		bears := s.bearing(i)
		mine := s.load(i, bears)
		other := s.load(i^1, s.bearing(i^1))
		if sp.lifts {
			mine = 1000 - other
		}
		if i < nearHind {
			s.head += 12 * much * (mine - other/2) / 1000000
		} else {
			s.rump += 34 * much * (mine - other/3) / 1000000
		}
	}
	if s.Manner == Swaying {
		s.rump += 14 * tide(s.at/2+s.stride*500) / 1000
	}
}

// load rises and falls while a foot stands, 0 to 1000.
func (s *step) load(i, bears int) int {
	t := (s.at - s.steps[i] + 2000) % 1000
	if t >= bears {
		return 0
	}
	return bhaskara(t*(1<<15)/bears) * 1000 >> 15
}

// tide is a sine of thousandths of a turn, -1000 to 1000.
func tide(t int) int { return bhaskara(((t%1000+1000)%1000)*(1<<16)/1000) * 1000 >> 15 }

func abs(n int) int { return max(n, -n) }

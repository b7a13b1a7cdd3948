package senses

// pose is how a cat is at a frame of its way down from a ledge: how far trunk and
// feet have moved from where they stood, how far its trunk is tipped, nose
// downwards below 0, and its head raised, in degrees.
type pose struct {
	frame, x, y, pitch, head int
	feet                     [4][2]int // in the order of Lame
}

// jumpDrop is the height of the ledge, and jumpWindow what is seen of it.
const jumpDrop = 350

var jumpWindow = window{-660, -90, 1960}

// jumping is a leap down: it looks, gathers itself, leaps, and lands on the
// forefeet first. climbing is the same way down taken paw by paw after a long
// look (both drawn freehand, no source).
var (
	jumping = []pose{
		{0, 0, 0, 0, -6, [4][2]int{}},
		{5, 0, 0, 0, -18, [4][2]int{}},
		{8, -50, 60, -16, -6, [4][2]int{{-40, 0}, {-20, 0}, {0, 0}, {0, 0}}},
		{10, -200, 50, -20, 10, [4][2]int{{-350, 40}, {-320, 40}, {-60, 0}, {-40, 0}}},
		{12, -380, 190, -26, 16, [4][2]int{{-520, 270}, {-490, 270}, {-260, 110}, {-230, 100}}},
		{13, -460, 280, -28, 16, [4][2]int{{-560, 350}, {-530, 350}, {-340, 170}, {-310, 160}}},
		{15, -540, 350, -12, 8, [4][2]int{{-560, 350}, {-530, 350}, {-500, 300}, {-470, 290}}},
		{16, -570, 385, 0, 0, [4][2]int{{-560, 350}, {-530, 350}, {-560, 350}, {-540, 350}}},
		{19, -580, 352, 0, 0, [4][2]int{{-560, 350}, {-560, 350}, {-580, 350}, {-570, 350}}},
		{23, -600, 350, 0, 4, [4][2]int{{-620, 350}, {-590, 350}, {-590, 350}, {-610, 350}}},
	}
	climbing = []pose{
		{0, 0, 0, 0, -8, [4][2]int{}},
		{9, 0, 4, 0, -24, [4][2]int{}},
		{11, -60, 60, -14, -14, [4][2]int{{-150, 190}, {0, 0}, {0, 0}, {0, 0}}},
		{13, -110, 120, -24, -4, [4][2]int{{-230, 350}, {-120, 190}, {0, 0}, {0, 0}}},
		{15, -160, 170, -30, 6, [4][2]int{{-250, 350}, {-220, 350}, {-40, 0}, {0, 0}}},
		{18, -250, 210, -26, 10, [4][2]int{{-330, 350}, {-290, 350}, {-160, 60}, {-60, 0}}},
		{20, -350, 290, -14, 6, [4][2]int{{-410, 350}, {-380, 350}, {-370, 350}, {-180, 130}}},
		{22, -430, 350, 0, 0, [4][2]int{{-440, 350}, {-430, 350}, {-420, 350}, {-410, 350}}},
		{23, -440, 350, 0, -4, [4][2]int{{-440, 350}, {-440, 350}, {-440, 350}, {-430, 350}}},
	}
)

// leap sets the animal as it is at a frame of its way down.
func (s *step) leap(frame int) {
	way := jumping
	if s.Manner == Climbing {
		way = climbing
	}
	i := 0
	for i+2 < len(way) && way[i+1].frame <= frame {
		i++
	}
	a, b := way[i], way[i+1]
	mid := func(from, to int) int { return from + (to-from)*(frame-a.frame)/(b.frame-a.frame) }
	s.down, s.head = [3]int{mid(a.x, b.x), mid(a.y, b.y), mid(a.pitch, b.pitch)}, mid(a.head, b.head)
	s.aloft, s.window = true, jumpWindow
	for f := range s.feet {
		s.feet[f] = foot{x: mid(a.feet[f][0], b.feet[f][0]), y: mid(a.feet[f][1], b.feet[f][1])}
		if frame > 9 && s.feet[f].y < jumpDrop {
			s.feet[f].turn = 24
		}
		s.spareLanding(f, frame)
	}
}

// spareLanding keeps a lame foot off the ground as the weight comes down.
func (s *step) spareLanding(f, frame int) {
	sp, much := s.spares(f)
	if sp.lifts || frame >= 12 && frame <= 19 {
		s.feet[f].y -= 110 * much / 1000
		s.feet[f].turn += 40 * much / 1000
	}
}

// tipped turns the trunk and takes it along.
func (s *step) tipped() move {
	return func(b *bones, _ piece, _, at dot) dot {
		at = turned(at, dot{(b.fore[1] + b.hind[0]) / 2, b.elbow[1] - 90, 0}, s.down[2]*1000)
		return dot{at[0] + s.down[0], at[1] + s.down[1], at[2]}
	}
}

// ledge draws what the animal comes down from, and the floor.
func (s *step) ledge(c *canvas, ground int) {
	v, top, floor := s.window, ground+6, ground+6+jumpDrop
	c.outline(v.curve([]dot{{150, top, 1}, {1200, top, 1}, {1200, floor, 1}, {150, floor, 1}}, true), shade, black)
	c.trace([]point{v.at(-16*800, 16*floor), v.at(16*1200, 16*floor)}, lineHalf, floorTint)
}

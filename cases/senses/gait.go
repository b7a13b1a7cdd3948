package senses

// Gait is an animal that is watched as it goes.
type Gait struct {
	Species string // as of a Breath; a cat walks and jumps down, a rabbit hops
	Dry     bool   // it has no udder, as a calf
	Right   bool   // the right side is seen, the head to the right
	Lame    [4]int // how lame each limb is, 0 to 5: near fore, far fore, near hind, far hind
	Manner  Gaited
}

// Gaited is how surely the feet are placed.
type Gaited int

// The manners of going.
const (
	Sure     Gaited = iota
	Swaying         // behind, with feet that cross
	Knuckled        // toes scuffed, now and then a foot set down on its top
	Stiff           // short steps at first
	Splayed         // a hind leg slides out
	Climbing        // unwilling to jump
)

// A frame lasts gaitCentis hundredths of a second.
const (
	gaitCentis = 9
	gaitFrames = 64
	gaitSize   = 120000
	gaitWide   = 200
	gaitHigh   = 148
)

// The limbs in the order of Lame.
const (
	nearFore = iota
	farForeLimb
	nearHind
	farHindLimb
)

// leg is a stretch of the clip: one gait, so many strides.
type leg struct {
	frames  int // of a stride
	strides int
	steps   [4]int // when in a stride, in thousandths, each limb is set down
	bears   int    // thousandths of a stride that a foot stands
	ground  int    // units that the ground passes in a stride
	lift    int    // units that a foot is lifted
	bounce  int    // units that the trunk rises, twice a stride
	spares  int    // which column of spared a lame limb follows: 0 walk, 1 trot, 2 circle or landing
	leaps   bool   // down from a ledge
}

// The footfalls, from the near hind: a walk goes near hind, near fore, far hind,
// far fore; a trot goes by diagonals; a hop sets the forefeet down one after the
// other and the hind feet together (common practice, no source).
var (
	walking  = [4]int{250, 750, 0, 500}
	trotting = [4]int{500, 0, 0, 500}
	hopping  = [4]int{0, 140, 420, 420}
)

// legs are what each species shows; each comes to gaitFrames. Times of a stride
// are derived from what is usual: a dog's walk about a second, its trot two
// thirds of that, a horse's a little longer.
var legs = map[string][]leg{
	"dog":    {{10, 4, walking, 620, 270, 60, 0, 0, false}, {6, 4, trotting, 440, 380, 80, 8, 1, false}},
	"cat":    {{8, 5, walking, 620, 250, 56, 0, 0, false}, {frames: 24, strides: 1, ground: 250, spares: 2, leaps: true}},
	"horse":  {{12, 2, walking, 620, 330, 80, 0, 0, false}, {8, 3, trotting, 420, 440, 110, 10, 1, false}, {8, 2, trotting, 420, 400, 110, 10, 2, false}},
	"cattle": {{16, 4, walking, 640, 280, 64, 0, 0, false}},
	"rabbit": {{8, 8, hopping, 420, 420, 70, 26, 0, false}},
}

// spare is how much a limb is spared in a walk (or a hop), a trot, and on a
// circle or in landing, in thousandths.
type spare struct {
	in    [3]int
	rare  bool // in one stride of three
	toe   bool // only the toe touches, and not every time
	lifts bool // it is carried
}

// spared are the grades, after the words of the catalogue: a dog's 2 shows at the
// trot, a horse's 2 on the circle and 4 at the walk (the scale of the American
// association of equine practitioners as relayed; how far each is, derived).
var spared = map[string][6]spare{
	"dog":    {{}, {in: [3]int{0, 350, 0}, rare: true}, {in: [3]int{0, 450, 0}}, {in: [3]int{550, 750, 0}}, {in: [3]int{900, 1000, 0}, toe: true}, {in: [3]int{800, 900, 0}, lifts: true}},
	"cat":    {{}, {in: [3]int{0, 0, 300}}, {in: [3]int{350, 0, 450}}, {in: [3]int{600, 0, 800}}, {in: [3]int{900, 0, 1000}, toe: true}, {in: [3]int{800, 0, 1000}, lifts: true}},
	"horse":  {{}, {in: [3]int{0, 350, 350}, rare: true}, {in: [3]int{0, 0, 500}}, {in: [3]int{0, 600, 700}}, {in: [3]int{600, 850, 900}}, {in: [3]int{1000, 1000, 1000}, toe: true}},
	"cattle": {{}, {in: [3]int{300, 0, 0}, rare: true}, {in: [3]int{400, 0, 0}}, {in: [3]int{700, 0, 0}}, {in: [3]int{950, 0, 0}, toe: true}, {in: [3]int{900, 0, 0}, lifts: true}},
	"rabbit": {{}, {in: [3]int{300, 0, 0}, rare: true}, {in: [3]int{400, 0, 0}}, {in: [3]int{700, 0, 0}}, {in: [3]int{950, 0, 0}, toe: true}, {in: [3]int{900, 0, 0}, lifts: true}},
}

// Picture renders the clip: a GIF of 5.8 s and 120,000 bytes.
func (g Gait) Picture() Picture { return Picture{"image/gif", g.reel().gif()} }

func (g Gait) reel() reel {
	if _, ok := legs[g.Species]; !ok {
		g.Species = "dog"
	}
	frames := make([]*canvas, 0, gaitFrames)
	known, trunks := map[shown]*canvas{}, map[carriage]*canvas{}
	for _, l := range legs[g.Species] {
		for stride := range l.strides {
			for f := range l.frames {
				s := g.stepping(l, stride, f*1000/l.frames)
				if known[s.shown] == nil {
					known[s.shown] = s.draw(trunks)
				}
				frames = append(frames, known[s.shown])
			}
		}
	}
	return reel{frames: frames, own: []RGB{{0xdd, 0xd5, 0xc6}, {0xa9, 0x9f, 0xae}, {}, {}}, centis: gaitCentis, size: gaitSize}
}

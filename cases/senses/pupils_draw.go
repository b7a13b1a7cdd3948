package senses

// pupil is the half width and the half height of a pupil, in eighths of a pixel,
// at each width and when it is drawn together.
type pupil struct {
	rest  [4][2]int
	least [2]int
	iris  RGB
	glow  RGB
}

// pupils are those of the species; in a cat the pupil stands, in horse and
// cattle it lies (common practice, no source; the sizes are derived).
var pupilsOf = map[string]pupil{
	"dog":    {[4][2]int{{96, 96}, {176, 176}, {188, 188}, {32, 32}}, [2]int{48, 48}, RGB{0xa8, 0x70, 0x3c}, RGB{0xd9, 0xc2, 0x4e}},
	"cat":    {[4][2]int{{56, 172}, {150, 180}, {188, 190}, {12, 150}}, [2]int{20, 164}, RGB{0xa9, 0xae, 0x52}, RGB{0x8f, 0xd0, 0x7c}},
	"horse":  {[4][2]int{{170, 92}, {190, 140}, {200, 164}, {130, 22}}, [2]int{150, 40}, RGB{0x8d, 0x5f, 0x3b}, RGB{0x6f, 0xc0, 0xb4}},
	"cattle": {[4][2]int{{170, 84}, {190, 132}, {200, 158}, {130, 22}}, [2]int{150, 38}, RGB{0x86, 0x58, 0x38}, RGB{0x6f, 0xc0, 0xb4}},
	"rabbit": {[4][2]int{{92, 104}, {164, 172}, {184, 188}, {32, 36}}, [2]int{56, 64}, RGB{0x96, 0x62, 0x38}, RGB{0xc9, 0x4f, 0x3e}},
}

// The colours of its own.
const (
	irisTint = own + iota
	glowTint
	lensTint
	beamTint
)

// irisHalf is half the width of the coloured ring, in eighths of a pixel.
const irisHalf = 232

func (p Pupils) kind() pupil {
	if k, ok := pupilsOf[p.Species]; ok {
		return k
	}
	return pupilsOf["dog"]
}

func (p Pupils) colours() []RGB {
	k := p.kind()
	lens := RGB{0x71, 0x84, 0x9c}
	if p.Lens >= LensPatch {
		lens = RGB{0xec, 0xec, 0xe8}
	}
	if p.Iris == IrisRusty {
		k.iris = RGB{0x9a, 0x55, 0x3a}
	}
	return []RGB{k.iris, k.glow, lens, {0xf6, 0xe0, 0x8a}}
}

// eyeLine is the height at which the eyes stand, in pixels.
const eyeLine = 62

// eyes draws both eyes, the lit one and its fellow drawn together so far, in
// twentieths of the way.
func (p Pupils) eyes(lit, fellow int, on bool) *canvas {
	c := sheet(pupilWide, pupilHigh, pale)
	x := 178
	if p.Right {
		x = 62
	}
	if p.Species == "rabbit" {
		x = 120
	}
	c.face(p.Species)
	c.globe(x)
	p.look(c, x, lit, on)
	if p.Species != "rabbit" {
		other := Pupils{Species: p.Species, Size: PupilMiddling}
		if p.Size == PupilKeyedUp {
			other.Size = PupilKeyedUp
		}
		c.globe(pupilWide - x)
		other.look(c, pupilWide-x, fellow, false)
	}
	if on {
		c.light(x)
	}
	return c
}

// face draws the bridge of the nose and the brows.
func (c *canvas) face(species string) {
	v := window{0, 0, 16000}
	if species == "rabbit" {
		c.trace(v.curve([]dot{{64, 34, 0}, {92, 16, 0}, {130, 12, 0}, {166, 26, 0}}, false), fineHalf, black)
		return
	}
	for _, side := range []int{-1, 1} {
		c.trace(v.curve([]dot{{120 + side*9, 50, 0}, {120 + side*12, 84, 0}, {120 + side*20, 118, 0}, {120 + side*26, 148, 0}}, false), fineHalf, black)
		c.trace(v.curve([]dot{{120 + side*24, 30, 0}, {120 + side*48, 16, 0}, {120 + side*76, 18, 0}, {120 + side*98, 34, 0}}, false), fineHalf, black)
	}
}

// globe draws the lids and the white between them.
func (c *canvas) globe(x int) {
	v := window{0, 0, 16000}
	side := 1
	if x < 120 {
		side = -1
	}
	y := eyeLine
	lids := []dot{{x - side*41, y + 8, 1}, {x - side*28, y - 20, 0}, {x, y - 31, 0}, {x + side*27, y - 24, 0}, {x + side*41, y + 1, 1}, {x + side*26, y + 25, 0}, {x, y + 32, 0}, {x - side*28, y + 25, 0}}
	c.outline(v.curve(lids, true), plate, black)
	c.trace(v.curve([]dot{{x - side*30, y + 34, 0}, {x, y + 42, 0}, {x + side*30, y + 33, 0}}, false), fineHalf, black)
}

// look draws ring and pupil of an eye; one that is looked into shows its lens,
// and in the light the glow behind it.
func (p Pupils) look(c *canvas, x, drawn int, on bool) {
	at := point{x * 16, eyeLine * 16}
	c.disc(at, irisHalf*2, irisHalf*2, black)
	c.disc(at, irisHalf*2-28, irisHalf*2-28, irisTint)
	rx, ry := p.halves(drawn)
	if p.Iris == IrisLacy {
		for k := range 12 {
			a := k * (1 << 16) / 12
			c.disc(point{at.x + rx*bhaskara(a+1<<14)>>15, at.y + ry*bhaskara(a)>>15}, 40, 40, black)
		}
	}
	c.disc(at, rx, ry, black)
	if p.Iris == IrisSpecks {
		for _, d := range [][2]int{{-19, -8}, {-15, 12}, {2, 22}, {17, 13}, {20, -6}, {8, -21}, {-10, -20}} {
			c.disc(point{at.x + d[0]*16, at.y + d[1]*16}, 26, 22, black)
		}
	}
	p.lens(c, at, rx, ry, on)
}

func (p Pupils) lens(c *canvas, at point, rx, ry int, on bool) {
	inside := p.Lens == LensHaze || p.Lens == LensWhite
	if inside {
		c.disc(at, rx, ry, lensTint)
	}
	if on && p.Lens != LensWhite {
		mask := sheet(c.w, c.h, kept)
		mask.disc(at, rx, ry, glowTint)
		mask.disc(point{at.x + rx/3, at.y + ry/4}, rx, ry, kept)
		c.lay(mask)
	}
	if p.Lens == LensPatch {
		mask, hole := sheet(c.w, c.h, kept), sheet(c.w, c.h, plate)
		var jag []point
		for k, far := range []int{84, 62, 70, 58, 88, 72, 60, 78, 54, 74, 90, 66, 76, 56} {
			a := k * (1 << 16) / 14
			jag = append(jag, point{at.x + rx/6 + rx*far*bhaskara(a)/(100<<15), at.y + ry/8 + ry*far*bhaskara(a+1<<14)/(100<<15)})
		}
		mask.fill(jag, lensTint)
		hole.disc(at, rx, ry, kept)
		for i, v := range hole.pix { // what lies outside the pupil is cut off
			if v != kept {
				mask.pix[i] = kept
			}
		}
		c.lay(mask)
	}
	c.disc(point{at.x - 9*16, at.y - 11*16}, 40, 40, plate)
}

// lay puts another picture on this one, where it is not transparent.
func (c *canvas) lay(on *canvas) {
	for i, v := range on.pix {
		if v != kept {
			c.pix[i] = v
		}
	}
}

// light draws the lamp below an eye and its beam.
func (c *canvas) light(x int) {
	v := window{0, 0, 16000}
	c.fill(v.curve([]dot{{x - 5, 132, 1}, {x + 5, 132, 1}, {x + 22, 97, 1}, {x, 105, 0}, {x - 22, 97, 1}}, true), beamTint)
	c.outline(v.curve([]dot{{x - 8, 128, 1}, {x + 8, 128, 1}, {x + 6, 148, 1}, {x - 6, 148, 1}}, true), plate, black)
}

// halves are the half width and half height of a pupil that is drawn together
// so far, in sixteenths of a pixel.
func (p Pupils) halves(drawn int) (rx, ry int) {
	k := p.kind()
	rest := k.rest[min(max(p.Size, PupilMiddling), PupilNarrow)]
	to := func(i int) int { return (rest[i]*20 + (min(k.least[i], rest[i])-rest[i])*drawn) / 10 }
	return to(0), to(1)
}

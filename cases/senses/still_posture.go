package senses

// Posture is an animal seen from a distance: how it holds itself, and what its
// ears and tail say.
type Posture struct {
	Species string // dog, cat, horse, cattle or rabbit
	Dry     bool   // it has no udder, as a calf
	Stance  Stance
	Manner  Manner
}

// Stance is how an animal stands or lies.
type Stance int

// The stances.
const (
	AtEase     Stance = iota
	NeckOut           // neck stretched, feet wide
	Hunched           // back up, head low
	Bowed             // chest down, rump up; a rabbit presses its belly to the floor
	OffLimb           // a foot rested or held up
	OnSide            // down and flat
	PressedLow        // flat to the floor, ready to spring
	RockedBack        // weight on the heels, forefeet ahead
	Pawing            // a forefoot strikes the ground
	Rolling           // on its back
)

// Manner is how an animal meets people, as far as ears, tail and crouch tell.
type Manner int

// The manners.
const (
	Calm Manner = iota
	Friendly
	Wary
	Fearful
	Defensive
)

// Picture draws the animal from its left side.
func (p Posture) Picture() Picture {
	b := bodyOf(p.Species, p.Dry)
	s := drawing()
	if b == nil {
		return s.Picture()
	}
	floor := b.top + b.ground*b.scale/1000
	if p.Stance == OnSide || p.Stance == Rolling {
		s.shape(pen(`class="g" fill="#857c8d" fill-opacity=".16"`), dot{90, floor - 90, 1}, dot{870, floor - 90, 1}, dot{952, floor + 24, 1}, dot{8, floor + 24, 1})
	} else {
		s.poly(faint, dot{30, floor + 2}, dot{930, floor + 2})
	}
	moves := append(p.bearing(), p.holds()...)
	s.posed(b, moves...)
	if p.Stance == Pawing {
		s.scrapes(b, moves)
	}
	return s.Picture()
}

// scrapes are the marks of a hoof on the ground.
func (s *still) scrapes(b *body, moves []move) {
	foot := b.spot(trunk, dot{340, 876}, moves...)
	for i := range 3 {
		x := foot[0] - 10 + i*26
		s.line(thin, dot{x, foot[1] + 34}, dot{x + 40, foot[1] + 46 + i*4}, dot{x + 96, foot[1] + 40})
	}
}

// bearing is what ears and tail do, and how low a fearful animal makes itself.
func (p Posture) bearing() []move {
	t := mannerOf[p.Species][p.Manner]
	moves := []move{prick(t.ears), wag(t.tail)}
	if p.Stance == AtEase {
		moves = append(moves, nod(t.nod), tip(t.tip), arch(t.arch, 0), squat(t.tall))
		if t.tucked {
			moves = append(moves, tuck(loaf))
		}
	}
	return moves
}

// bearing are degrees of ears (back above 0), tail (down above 0), neck and
// head, the arch of the back, and the height in thousandths; and whether it lies
// on its breast with the feet under it.
type bearing struct {
	ears, tail, nod, tip, arch, tall int
	tucked                           bool
}

// loaf is what is seen of limbs that are tucked under, in thousandths.
const loaf = 300

// mannerOf are the bearings by species (common practice, no source).
var mannerOf = map[string]map[Manner]bearing{
	"dog": {
		Calm:      {0, 0, 0, 0, 0, 1000, false},
		Friendly:  {-22, -62, 6, 4, 0, 1000, false},
		Wary:      {26, 32, -14, 4, 10, 960, false},
		Fearful:   {48, 74, -34, 10, 50, 800, false},
		Defensive: {-34, -34, -12, 10, 0, 1020, false},
	},
	"cat": {
		Calm:      {0, 0, 0, 0, 0, 1000, true},
		Friendly:  {-6, -112, 6, 4, 0, 1000, false},
		Wary:      {34, 16, -16, 4, 0, 960, true},
		Fearful:   {66, 34, -22, 6, 0, 640, false},
		Defensive: {58, -140, -14, 6, 110, 1020, false},
	},
	"horse": {
		Calm:      {0, 0, -14, 0, 0, 1000, false},
		Friendly:  {-16, -4, -26, 8, 0, 1000, false},
		Wary:      {26, 3, 4, -4, 0, 1000, false},
		Fearful:   {44, 10, 16, 0, 0, 985, false},
		Defensive: {72, -30, -34, 18, 0, 1000, false},
	},
	"cattle": {
		Calm:      {0, 0, 0, 0, 0, 1000, false},
		Friendly:  {-26, -6, -8, 10, 0, 1000, false},
		Wary:      {18, 2, 6, 0, 0, 1000, false},
		Fearful:   {30, 4, 18, 2, 0, 985, false},
		Defensive: {42, -12, -36, -16, 0, 1000, false},
	},
	"rabbit": {
		Calm:      {0, 0, 0, 0, 0, 1000, false},
		Friendly:  {-22, 0, 0, 8, 0, 1000, false},
		Wary:      {34, 0, -6, 0, 0, 950, false},
		Fearful:   {84, 12, -16, 0, 0, 740, false},
		Defensive: {66, -24, 4, 4, 30, 1030, false},
	},
}

// holds are the moves of a stance. What a species does otherwise has its own row.
func (p Posture) holds() []move {
	if own, ok := stanceOf[p.Species][p.Stance]; ok {
		return own
	}
	return stances[p.Stance]
}

var stances = map[Stance][]move{
	AtEase:     nil,
	NeckOut:    {nod(-16), tip(24), stride(70, -20)},
	Hunched:    {nod(-42), tip(-14), arch(80, 50), stride(-46, 60)},
	Bowed:      {nod(6), tip(4), stride(150, -20), bow(540)},
	OffLimb:    {nod(-10), bend(false, 34, -62)},
	OnSide:     {prick(20), nod(-70), tip(66), sprawl(82, -70), squat(700), shrunk(860)},
	PressedLow: {nod(-34), tip(30), squat(560)},
	RockedBack: {nod(-24), lean(70), stride(150, 50)},
	Pawing:     {nod(-26), tip(-6), bend(false, 48, -30)},
	Rolling:    {nod(6), bend(false, 20, -50), bend(true, 20, 40), upended()},
}

var stanceOf = map[string]map[Stance][]move{
	"cat": {
		OffLimb: {nod(-10), bend(false, 46, -76)},
		NeckOut: {nod(-16), tip(24), stride(50, 0), tuck(420)},
		Hunched: {nod(-42), tip(-14), arch(70, 30), stride(-30, 50), tuck(460)},
	},
	"horse":  {OnSide: {prick(40), wag(-50), nod(-64), tip(58), sprawl(82, -72), squat(720), shrunk(820)}, OffLimb: {nod(-10), bend(false, 20, 0)}},
	"cattle": {OnSide: {wag(-30), nod(-74), tip(86), sprawl(82, -70), squat(700), shrunk(800)}, OffLimb: {nod(-6), bend(true, 6, 22)}, Hunched: {nod(-30), tip(-10), arch(80, 40), stride(-30, 60)}},
	"rabbit": {
		Bowed:   {nod(-20), tip(14), stride(90, -70), squat(600)},
		Hunched: {nod(-26), tip(-8), arch(60, 60), stride(-20, 40)},
		NeckOut: {nod(26), tip(26), stride(50, 0)},
		OffLimb: {rear(5), bend(false, 30, 10)},
		OnSide:  {prick(70), nod(-56), tip(50), sprawl(60, -60), squat(600), shrunk(900)},
	},
}

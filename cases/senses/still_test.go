package senses

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"io"
	"maps"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var species = []string{"dog", "cat", "horse", "cattle", "rabbit"}

// stills are pictures of every kind by what they are.
func stills() map[string]Picture {
	out := map[string]Picture{}
	for _, sp := range species {
		for colour := range tissue {
			out["gum "+sp+colour] = Gum{Species: sp, Colour: colour, Rim: colour == "purple rim", Spots: Blotches, Drying: 2}.Picture()
		}
		for fat := -1000; fat <= 1000; fat += 125 {
			out[fmt.Sprint("condition ", sp, fat)] = Condition{Species: sp, Fat: fat}.Picture()
		}
		for st := AtEase; st <= Rolling; st++ {
			for m := Calm; m <= Defensive; m++ {
				out[fmt.Sprint("posture ", sp, st, m)] = Posture{Species: sp, Stance: st, Manner: m}.Picture()
			}
		}
		for i := range 5 {
			out[fmt.Sprint("face ", sp, i)] = Face{sp, i}.Picture()
		}
		for i := range 4 {
			out[fmt.Sprint("teeth ", sp, i)] = Teeth{sp, "pink", i, i, min(i, 2), Crown(i), Bite(i), min(i, 2)}.Picture()
			out[fmt.Sprint("full teeth ", sp, i)] = Teeth{sp, "pink", 3, 3, 2, Broken, Bite(i), 2}.Picture()
			out[fmt.Sprint("front ", sp, i)] = FrontTeeth{sp, "pink", Crown(i), Jaw(i % 3)}.Picture()
			out[fmt.Sprint("cheek ", i)] = CheekTeeth{i, i, i % 3, i % 3}.Picture()
			out[fmt.Sprint("rabbit ", i)] = RabbitFront{i % 3, i % 3, 1}.Picture()
			out[fmt.Sprint("eye ", sp, i)] = Eye{sp, i%2 == 1, 4, Lids(i), Set(i), i, Sclera(i), Front(i), min(i, 2), true}.Picture()
			out[fmt.Sprint("flap ", sp, i)] = Flap{sp, FlapSkin(i), 3, min(i, 2), i%2 == 0}.Picture()
			out[fmt.Sprint("nose ", sp, i)] = Nose{sp, i, i, i%2 == 0}.Picture()
			out[fmt.Sprint("ear ", i)] = EarCanal{StalkCanal, Drum(i)}.Picture()
			f := Felt{Long: 40, Thick: 36, Give: Give(i), Surface: Knotty, Hold: Hold(i), Top: Top(i), Gland: true, Broad: true, Place: "jaw"}
			out[fmt.Sprint("size ", i)] = Size{[]Felt{f, f, f}, 50}.Picture()
		}
	}
	return out
}

// Every still picture is well-formed to the reader of encoding/xml, an SVG of
// one size, and of one length; nothing in it is clipped away to make it so.
func TestStillPicturesAreWellFormedAndAlikeInLength(t *testing.T) {
	for what, p := range stills() {
		require.Equal(t, "image/svg+xml", p.Type)
		require.Equal(t, stillSize, len(p.Bytes), what)
		require.LessOrEqual(t, len(p.Bytes), 24000)
		d := xml.NewDecoder(strings.NewReader(string(p.Bytes)))
		d.Strict = true
		depth, first := 0, ""
		for {
			token, err := d.Token()
			if err == io.EOF {
				break
			}
			require.NoError(t, err, what)
			switch x := token.(type) {
			case xml.StartElement:
				if first == "" {
					first = x.Name.Local
					require.Equal(t, "http://www.w3.org/2000/svg", x.Name.Space)
				}
				depth++
			case xml.EndElement:
				depth--
			}
		}
		require.Equal(t, "svg", first)
		require.Zero(t, depth)
	}
}

// The same numbers give the same bytes on every processor: taken on a 64-bit
// machine, they hold on a 32-bit one and on arm64 (.ci/long).
func TestTheSameStillPicturesEverywhere(t *testing.T) {
	all := stills()
	sum := sha256.New()
	for _, what := range slices.Sorted(maps.Keys(all)) {
		sum.Write(all[what].Bytes)
	}
	require.Equal(t, "474d9d5a1987c5eb", hex.EncodeToString(sum.Sum(nil)[:8]))
}

// A species that is not known, and a strength that there is not, is an empty
// picture of the same length, no panic.
func TestStillPicturesOfNothing(t *testing.T) {
	for _, p := range []Picture{Gum{Species: "newt"}.Picture(), Condition{Species: "newt", Fat: 0}.Picture(), Posture{Species: "newt"}.Picture(), Face{"newt", 0}.Picture(),
		Nose{Species: "newt"}.Picture(), Flap{Species: "newt"}.Picture(), Face{"dog", 5}.Picture(), Face{"dog", -1}.Picture(), Size{}.Picture()} {
		require.Len(t, p.Bytes, stillSize)
		require.NotContains(t, string(p.Bytes), "<path")
	}
	require.Equal(t, Condition{Species: "dog", Fat: 1000}.Picture(), Condition{Species: "dog", Fat: 9000}.Picture())
}

// lab is a colour in CIE L*a*b* (CIE 1976, sRGB of IEC 61966-2-1, white D65; the
// constants from memory).
func lab(c RGB) [3]float64 {
	var lin [3]float64
	for i, v := range c {
		f := float64(v) / 255
		if f <= .04045 {
			lin[i] = f / 12.92
		} else {
			lin[i] = math.Pow((f+.055)/1.055, 2.4)
		}
	}
	xyz := [3]float64{
		(.4124*lin[0] + .3576*lin[1] + .1805*lin[2]) / .9505,
		.2126*lin[0] + .7152*lin[1] + .0722*lin[2],
		(.0193*lin[0] + .1192*lin[1] + .9505*lin[2]) / 1.089,
	}
	for i, v := range xyz {
		if v > .008856 {
			xyz[i] = math.Cbrt(v)
		} else {
			xyz[i] = 7.787*v + 16./116
		}
	}
	return [3]float64{116*xyz[1] - 16, 500 * (xyz[0] - xyz[1]), 200 * (xyz[1] - xyz[2])}
}

// Any two colours of a gum are told apart at a glance: 12 units of CIE 1976
// colour difference, where 2.3 is just noticeable (Mahy et al. 1994, from memory).
func TestGumColoursAreToldApart(t *testing.T) {
	for a, x := range tissue {
		for b, y := range tissue {
			if a >= b {
				continue
			}
			p, q := lab(x), lab(y)
			d := math.Hypot(math.Hypot(p[0]-q[0], p[1]-q[1]), p[2]-q[2])
			require.Greater(t, d, 12., "%s and %s", a, b)
		}
	}
	light := func(c string) float64 { return lab(tissue[c])[0] }
	for _, row := range [][]string{{"brick red", "brown", "pink", "pale pink", "pale"}, {"brick red", "blue", "grey", "pale"}, {"brown", "yellow", "pale"}} {
		for i := 1; i < len(row); i++ {
			require.Greater(t, light(row[i])-light(row[i-1]), 4., "%s is lighter than %s", row[i], row[i-1])
		}
	}
}

var ellipse = regexp.MustCompile(`<ellipse [^>]*cx="(-?\d+)" cy="(-?\d+)" rx="(\d+)" ry="(\d+)"`)

// width is how far a path reaches from side to side: its curves are evaluated
// at forty places each.
func width(t *testing.T, path string) int {
	t.Helper()
	low, high, at := math.Inf(1), math.Inf(-1), 0.
	for _, piece := range regexp.MustCompile(`[Mlc][^Mlcz]*`).FindAllString(path, -1) {
		n := []float64{0, 0}
		for _, f := range regexp.MustCompile(`-?\d+`).FindAllString(piece, -1) {
			v, err := strconv.Atoi(f)
			require.NoError(t, err)
			n = append(n, float64(v))
		}
		xs := [4]float64{0, 0, n[2], n[2]}
		if piece[0] == 'c' {
			xs = [4]float64{0, n[2], n[4], n[6]}
		}
		for i := range 41 {
			u := float64(i) / 40
			if piece[0] == 'M' {
				u = 1
			}
			x := at + 3*u*(1-u)*(1-u)*xs[1] + 3*u*u*(1-u)*xs[2] + u*u*u*xs[3]
			low, high = math.Min(low, x), math.Max(high, x)
		}
		at += xs[3]
	}
	return int(math.Round(high - low))
}

// The body that is felt, the fingertip and the rule are drawn to one scale.
func TestWhatIsFeltIsDrawnToScale(t *testing.T) {
	for _, scale := range []int{38, 50, 80} {
		for _, long := range []int{7, 14, 22, 40} {
			svg := string(Size{[]Felt{{Long: long, Thick: long, Give: Rubber}}, scale}.Picture().Bytes)
			body := regexp.MustCompile(`stroke-width="7" fill="#[0-9a-f]+" d="([^"]*)"`).FindStringSubmatch(svg)
			require.NotNil(t, body)
			require.InDelta(t, long*scale/10, width(t, body[1]), float64(scale)/5)
			finger := regexp.MustCompile(`class="h" d="([^"]*)"`).FindStringSubmatch(svg)
			require.InDelta(t, fingerWide*scale/10, width(t, finger[1]), float64(scale)/10)
			rule := regexp.MustCompile(`class="l" d="M28 690l(\d+) 0"`).FindStringSubmatch(svg)
			require.Equal(t, strconv.Itoa(scale), rule[1])
		}
	}
}

// Fat cover, waist and bone follow the score step by step: the cover over the
// ribs grows, the half width behind the ribs grows, the knobs of the spine go.
func TestConditionChangesEvenly(t *testing.T) {
	for _, sp := range species {
		waist := outlines[sp][9]
		last, knobs := -1, 1<<30
		for fat := -1000; fat <= 1000; fat += 250 {
			c := Condition{Species: sp, Fat: fat}
			half := c.half(waist.lean, waist.ideal, waist.fat)
			require.Greater(t, half, last, "%s at %d", sp, fat)
			last = half
			high := 0
			for _, m := range ellipse.FindAllSubmatch(c.Picture().Bytes, -1) {
				if string(m[2]) == "548" {
					n, err := strconv.Atoi(string(m[4]))
					require.NoError(t, err)
					high = max(high, n)
				}
			}
			require.LessOrEqual(t, high, knobs)
			knobs = high
		}
		require.Zero(t, knobs, "no knobs on a fat back")
	}
}

// A turn by a right angle and by a whole one is where geometry puts it.
func TestTurned(t *testing.T) {
	require.InDeltaSlice(t, []int{10, 30, 0}, sliceOf(turned(dot{30, 10}, dot{10, 10}, 90000)), 0)
	require.InDeltaSlice(t, []int{30, 10, 1}, sliceOf(turned(dot{30, 10, 1}, dot{10, 10}, 360000)), 0)
	for deg := -170; deg <= 170; deg += 10 {
		got := turned(dot{1000, 0}, dot{}, deg*1000)
		sin, cos := math.Sincos(float64(deg) * math.Pi / 180)
		require.InDelta(t, 1000*cos, got[0], 4)
		require.InDelta(t, 1000*sin, got[1], 4)
	}
}

func sliceOf(d dot) []int { return d[:] }

func BenchmarkStill(b *testing.B) {
	for _, row := range []struct {
		name string
		draw func() Picture
	}{
		{"gum", func() Picture { return Gum{Species: "dog", Colour: "pink", Spots: Pinpoint}.Picture() }},
		{"condition", func() Picture { return Condition{Species: "dog", Fat: -750}.Picture() }},
		{"ear", func() Picture { return EarCanal{StalkCanal, TornDrum}.Picture() }},
		{"teeth", func() Picture { return Teeth{"dog", "pink", 3, 3, 2, Broken, CanineInward, 0}.Picture() }},
		{"size", func() Picture { return Size{[]Felt{{Long: 40, Thick: 36, Gland: true}, {}, {}}, 50}.Picture() }},
		{"posture", func() Picture { return Posture{Species: "horse", Stance: Pawing, Manner: Fearful}.Picture() }},
		{"eye", func() Picture { return Eye{Discharge: 4, White: Crowded}.Picture() }},
		{"flap", func() Picture { return Flap{"rabbit", CrustedRim, 3, 2, true}.Picture() }},
		{"nose", func() Picture { return Nose{"dog", 2, 3, false}.Picture() }},
		{"face", func() Picture { return Face{"cat", 3}.Picture() }},
	} {
		b.Run(row.name, func(b *testing.B) {
			for b.Loop() {
				row.draw()
			}
		})
	}
}

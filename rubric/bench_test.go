package rubric_test

import (
	"encoding/json"
	"flag"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// acts120 is a visit of 120 acts: examining, charting line by line for some
// regions and 'rest of this region normal' for others.
func acts120(w *world) []rubric.Act {
	var acts []rubric.Act
	for _, id := range w.required() {
		acts = append(acts, w.do(id)...)
	}
	acts = acts[:min(len(acts), 80)]
	var sheet []rubric.Act
	for _, id := range []string{"distance.observe", "breathing.count", "mouth.refill", "heart.auscultate", "stifle.palpate", "skin.inspect", "temperature.measure"} {
		sheet = append(sheet, w.chart(id)...)
	}
	for _, region := range []string{"head", "eyes", "ears", "mouth", "neck", "lungs", "abdomen", "hip"} {
		sheet = append(sheet, rubric.Act{Kind: rubric.Record, Region: region, Value: "normal"})
	}
	acts = append(acts, sheet...)
	for len(acts) < 119 {
		acts = append(acts, rubric.Act{Kind: rubric.Handle, How: "reassure"})
	}
	return append(acts[:119], w.conclusion())
}

// longVisit repeats a visit until it has n acts.
func longVisit(w *world, n int) rubric.Transcript {
	base := w.visit(w.required())
	var acts []rubric.Act
	for len(acts) < n {
		acts = append(acts, base[:len(base)-1]...)
	}
	return w.play(append(acts[:n-1], w.conclusion()))
}

func BenchmarkGrade120(b *testing.B) {
	w := sick(b, "veterinary")
	t := w.play(acts120(w))
	require.Len(b, t, 120)
	b.ReportAllocs()
	for b.Loop() {
		rubric.Grade(w.r, w.key, t)
	}
}

// stored is a transcript as the store keeps it: a text an act and one an outcome.
type stored struct{ acts, outcomes [][]byte }

func store(t testing.TB, list rubric.Transcript) stored {
	var s stored
	for _, e := range list {
		act, err := json.Marshal(e.Act)
		require.NoError(t, err)
		outcome, err := rubric.EncodeOutcome(e.Outcome)
		require.NoError(t, err)
		s.acts, s.outcomes = append(s.acts, act), append(s.outcomes, outcome)
	}
	return s
}

// read is the yardstick: encoding/json reads the same acts and outcomes.
func (s *stored) read(t testing.TB) rubric.Transcript {
	list := make(rubric.Transcript, len(s.acts))
	for i := range s.acts {
		if err := json.Unmarshal(s.acts[i], &list[i].Act); err != nil {
			t.Fatal(err)
		}
		var err error
		if list[i].Outcome, err = rubric.DecodeOutcome(s.outcomes[i]); err != nil {
			t.Fatal(err)
		}
	}
	return list
}

func BenchmarkDecode120(b *testing.B) {
	w := sick(b, "veterinary")
	s := store(b, w.play(acts120(w)))
	b.ReportAllocs()
	for b.Loop() {
		s.read(b)
	}
}

var speed = flag.Bool("speed", false, "measure grading beside reading the same transcript, print a table and hold the limits")

// lengths are the visits that are measured; that of 120 acts is the usual one.
var lengths = []int{50, 120, 500, 1000, 5000}

func visitOf(w *world, n int) rubric.Transcript {
	if n == 120 {
		return w.play(acts120(w))
	}
	return longVisit(w, n)
}

// microseconds is the least of three measurements.
func microseconds(f func()) float64 {
	best := math.Inf(1)
	for range 3 {
		r := testing.Benchmark(func(b *testing.B) {
			for b.Loop() {
				f()
			}
		})
		best = min(best, float64(r.NsPerOp())/1000)
	}
	return best
}

// TestSpeed grades no slower than three tenths of what reading the transcript
// costs at 120 acts, and in time that grows with the acts. Marking an attempt
// anew is its reading; grading is the smaller part.
func TestSpeed(t *testing.T) {
	if !*speed {
		t.Skip("measures for half a minute; go test ./rubric -run Speed -speed -v")
	}
	w := sick(t, "veterinary")
	key, err := rubric.EncodeKey(w.key)
	require.NoError(t, err)
	fmt.Printf("%6s %12s %12s %8s %10s\n", "acts", "grade, us", "read, us", "ratio", "us an act")
	perAct := map[int]float64{}
	for _, n := range lengths {
		list := visitOf(w, n)
		s := store(t, list)
		grade, read := microseconds(func() { rubric.Grade(w.r, w.key, list) }), microseconds(func() { s.read(t) })
		perAct[n] = grade / float64(n)
		fmt.Printf("%6d %12.1f %12.1f %8.3f %10.3f\n", n, grade, read, grade/read, perAct[n])
		if n == 120 {
			require.LessOrEqual(t, grade/read, .3)
			anew(t, w, key, &s, grade, read)
		}
	}
	require.Less(t, perAct[5000], 3*perAct[500])
}

// anew measures what marking one stored attempt anew costs, by its parts.
func anew(t *testing.T, w *world, key []byte, s *stored, grade, read float64) {
	t.Helper()
	readKey := microseconds(func() {
		if _, err := rubric.DecodeKey(key); err != nil {
			t.Fatal(err)
		}
	})
	rep := rubric.Grade(w.r, w.key, s.read(t))
	write := microseconds(func() {
		if _, err := rubric.EncodeReport(rep); err != nil {
			t.Fatal(err)
		}
	})
	all := readKey + read + grade + write
	fmt.Printf("anew, 120 acts: key %.1f us, acts %.1f us, grade %.1f us (%.0f %%), report %.1f us; 100,000 attempts: %.0f s of one core, of which grading %.1f s\n",
		readKey, read, grade, 100*grade/all, write, all/10, grade/10)
	require.Less(t, grade, readKey+read)
}

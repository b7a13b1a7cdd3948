package rubric_test

import (
	"bytes"
	"encoding/json"
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

// BenchmarkDecode120 is the yardstick: reading the same transcript as JSON.
func BenchmarkDecode120(b *testing.B) {
	w := sick(b, "veterinary")
	var text bytes.Buffer
	require.NoError(b, rubric.WriteTranscript(&text, w.play(acts120(w))))
	lines := bytes.Split(bytes.TrimSpace(text.Bytes()), []byte("\n"))
	type entry struct {
		rubric.Act
		Outcome json.RawMessage `json:"outcome"`
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, l := range lines {
			var e entry
			if err := json.Unmarshal(l, &e); err != nil {
				b.Fatal(err)
			}
			if e.Outcome != nil {
				if _, err := rubric.DecodeOutcome(e.Outcome); err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}

func BenchmarkGradeLength(b *testing.B) {
	w := sick(b, "veterinary")
	for _, n := range []int{50, 500, 5000} {
		t := longVisit(w, n)
		b.Run(itoa(n), func(b *testing.B) {
			for b.Loop() {
				rubric.Grade(w.r, w.key, t)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/act")
		})
	}
}

package server

import (
	"net/http"
	"testing"

	"github.com/stretchr/testify/require"
)

// Every step with a stethoscope can be heard, beside its words; a look cannot.
func TestWhatAStethoscopeHears(t *testing.T) {
	sc := newSchool(t)
	for _, row := range []struct {
		patient, step, site string
		heard               bool
	}{
		{"tansy", "heart.auscultate", "left apex", true}, {"tansy", "lungs.auscultate", "left cranial", true},
		{"tansy", "abdomen.auscultate", "", true}, {"tansy", "throat.auscultate", "", true},
		{"buttercup", "rumen.auscultate", "", true}, {"quaker", "abdomen.auscultate", "right upper", true},
		{"tansy", "distance.observe", "", false}, {"tansy", "neck.inspect", "left", false},
	} {
		v := sc.browser("student").begin(sc.s.opaque(row.patient))
		got := v.do(sentAct{Kind: "examine", Step: row.step, Site: row.site})
		require.Equal(t, row.heard, got.Act.Heard, row.step)
		want := http.StatusNotFound
		if row.heard {
			want = http.StatusOK
		}
		v.get(v.path("/acts/1/sound")).is(want)
	}
}

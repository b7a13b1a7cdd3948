package cases

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// The words do not tell how a node feels where none is met, as the picture does not.
func TestNothingIsToldOfTheFeelOfANodeThatIsNotFelt(t *testing.T) {
	feel := func(size string) string {
		p := anyPatient(t, "dog").with("node.popliteal.size", size)
		for _, pc := range play(t, p, examine("popliteal_nodes.palpate", "left", 8))[0].Outcome.Percepts {
			if pc.Field == "node.popliteal.texture" {
				return pc.Words
			}
		}
		return "no percept"
	}
	require.Equal(t, nothingMet, feel("not felt"))
	require.Contains(t, feel("bean"), "ripe berry")
}

// The udder is that of the patient: a calf has none yet, a steer none at all.
func TestTheUdderIsThePatientsOwn(t *testing.T) {
	p := anyPatient(t, "cattle")
	dry := func(sex string, days int) bool {
		k := *p.kase
		k.Signalment.Sex, k.Signalment.AgeDays = sex, days
		q := *p
		q.kase = &k
		return (&view{p: &q}).dry()
	}
	require.False(t, dry("female entire", 2000))
	require.True(t, dry("female entire", 40))
	require.True(t, dry("male neutered", 2000))
}

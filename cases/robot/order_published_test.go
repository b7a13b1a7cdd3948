package robot

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
	"dewclaw/rubric/file"
)

// stretch is what is done in one go: the steps of stages, and single steps; a
// step that is named anywhere singly is not done with its stage.
type stretch []string

// taught are orders as they are taught. Looking from a distance and counting
// breaths come before the first touch in all of them, because the rubric says
// so with its sources.
var taught = []struct {
	name, source string
	way          stretch
}{
	{"head to tail, belly before chest, coat after chest, the thermometer late, gait last", "common practice, no source",
		stretch{"distance", "head", "neck", "forelimbs", "trunk", "abdomen", "chest", "coat.inspect", "skin.inspect", "hindlimbs", "rear", "temperature.measure", "gait"}},
	{"temperature, pulse, breathing and weight first", "common practice, no source",
		stretch{"distance.observe", "breathing.count", "weight.measure", "temperature.measure", "pulse.palpate", "head", "neck", "forelimbs", "chest", "abdomen", "trunk", "hindlimbs", "rear", "gait"}},
	{"chest before belly", "Spalla, Veterinary Ireland Journal, July 2019",
		stretch{"distance", "head", "neck", "forelimbs", "chest", "abdomen", "trunk", "hindlimbs", "rear", "gait"}},
	{"chest first", "Spalla, Veterinary Ireland Journal, July 2019 (before excitement)",
		stretch{"distance", "chest", "head", "neck", "forelimbs", "abdomen", "trunk", "hindlimbs", "rear", "gait"}},
	{"gait first", "orthopaedic texts, from memory",
		stretch{"distance", "gait", "head", "neck", "forelimbs", "chest", "abdomen", "trunk", "hindlimbs", "rear"}},
	{"fore and hind limbs together", "Defarges, Clinician's Brief, September 2015 (the order may vary)",
		stretch{"distance", "head", "neck", "chest", "abdomen", "trunk", "forelimbs", "hindlimbs", "rear", "gait"}},
}

// walk lists every required step along a way, all sites long enough.
func (x *trial) walk(way stretch) []rubric.Act {
	var acts []rubric.Act
	for _, name := range way {
		for i := range x.k.Steps {
			s := &x.k.Steps[i]
			single := slices.Contains(way, s.ID)
			if !s.Required || s.Kind != rubric.Examine || (s.ID != name && (single || s.Stage != name)) {
				continue
			}
			sites := s.Sites
			if len(sites) == 0 {
				sites = []string{""}
				if c := x.p.Catalogue().Step(s.ID); len(c.Sites) > 0 {
					sites = c.Sites[:1] // any one of them
				}
			}
			for _, site := range sites {
				acts = append(acts, rubric.Act{Kind: rubric.Examine, Step: s.ID, Site: site, Seconds: max(10, s.Least)})
			}
		}
	}
	return acts
}

// The orders that are taught earn all of Order, on the healthy dog of the
// library as she is drawn, with both rubrics.
func TestTaughtOrdersEarnAllOfOrder(t *testing.T) {
	tried := 0
	l := library(t)
	orders := func(t *testing.T, x *trial) {
		for _, order := range taught {
			rep := x.grade(t, x.walk(order.way))
			require.Equal(t, 1000, share(rep, "order"), "%s, %s (%s): %s", x.name, order.name, order.source, lost(rep))
			tried++
		}
	}
	for _, track := range []string{"veterinary", "technician"} {
		r, err := file.Builtin(track)
		require.NoError(t, err)
		drawTrials(t, r, l, l.Case("tansy"), 5, orders)
	}
	require.Equal(t, 2*5*len(taught), tried)
}

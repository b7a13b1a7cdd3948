package cases

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// What the seed decides: what the case spreads and what it leaves to the
// species; not what it states. Of a mirrored patient the places are those of the
// case, whichever side they came to stand on.
func TestDrawnListsWhatTheSeedDecides(t *testing.T) {
	l := smallLibrary()
	c := smallCase(func(c *Case) {
		c.Mirror = true
		c.Truth = append(c.Truth, Truth{Field: "heart.murmur", Site: "right apex", Values: []string{"1", "2"}})
	})
	sides := map[string]int{}
	for n := range uint64(40) {
		p, err := NewPatient(l, c, SeedOf(n))
		require.NoError(t, err)
		at := map[string]string{}
		var places []string
		for _, d := range p.Drawn() {
			at[d.Place] = d.Value
			places = append(places, d.Place)
		}
		require.Equal(t, []string{
			"heart.rate", "heart.murmur@right apex",
			"mentation", "resp.rate", "crt", "heart.rhythm", "bladder.size", "testes.feel", Mirrored,
		}, places)
		require.Contains(t, []string{"1", "2"}, at["heart.murmur@right apex"])
		require.Equal(t, p.truth.at(ParsePlace("heart.rate")), at["heart.rate"])
		sides[at[Mirrored]]++
		if p.flip {
			require.Equal(t, "swapped", at[Mirrored])
			require.Equal(t, p.truth.at(ParsePlace("heart.murmur@left apex")), at["heart.murmur@right apex"])
		}
	}
	require.Greater(t, sides["as written"], 8)
	require.Greater(t, sides["swapped"], 8)
}

// A value stated for all sites is read where no site has its own.
func TestDrawnReadsASiteThatHasNoValueOfItsOwn(t *testing.T) {
	c := smallCase(func(c *Case) {
		c.Truth = []Truth{
			{Field: "hip.motion", Values: []string{"free", "short"}},
			{Field: "hip.motion", Site: "left", Values: []string{"free"}},
		}
	})
	values := map[string]bool{}
	for n := range uint64(20) {
		p, err := NewPatient(smallLibrary(), c, SeedOf(n))
		require.NoError(t, err)
		d := p.Drawn()[0]
		require.Equal(t, "hip.motion", d.Place)
		require.Equal(t, p.truth.at(ParsePlace("hip.motion@right")), d.Value)
		values[d.Value] = true
	}
	require.Len(t, values, 2)
}

package server

import (
	"testing"

	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

// Who does not see the drawing hears how the animal stands or sits in it.
func TestRoomSaysHowTheAnimalIsDrawn(t *testing.T) {
	for _, c := range []struct{ species, label, want string }{
		{"rabbit", "Rabbit", ">Rabbit crouching, head to the left:"},
		{"cattle", "Cow", ">Cow standing, head to the left:"},
	} {
		p := roomPageOf(face.Attempt{Patient: face.Patient{Species: c.species}}, &face.Catalogue{Label: c.label})
		require.Contains(t, string(p.Animal), c.want)
	}
}

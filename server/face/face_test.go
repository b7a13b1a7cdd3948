package face

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestPointsAreDecimalNumbers(t *testing.T) {
	for text, want := range map[string]Points{"0": 0, "10": 10_000, "87.25": 87_250, "-0.3": -300, "0.001": 1, "-12.05": -12_050} {
		var got Points
		require.NoError(t, json.Unmarshal([]byte(text), &got))
		require.Equal(t, want, got)
		raw, err := json.Marshal(want)
		require.NoError(t, err)
		require.Equal(t, text, string(raw))
		require.Equal(t, text, want.String())
	}
	for _, bad := range []string{"1.2345", `"7"`, "1e3", "true", "--1"} {
		var got Points
		require.Error(t, json.Unmarshal([]byte(bad), &got), bad)
	}
}

func TestCatalogueFindsRows(t *testing.T) {
	c := Catalogue{
		Stages: []Term{{"head", "Head"}}, Regions: []Region{{ID: "eyes", Label: "Eyes"}}, Steps: []Step{{ID: "eyes.inspect", Label: "Look"}},
		Fields: []Field{{ID: "mm.colour", Choices: []Choice{{ID: "pink", Label: "Pink"}}}, {ID: "weight"}},
		Topics: []Topic{{ID: "appetite"}}, Handling: []Handling{{ID: "settle"}}, Problems: []Problems{{ID: "fever"}},
	}
	require.Equal(t, "Head", c.Stage("head").Label)
	require.Equal(t, "Eyes", c.Region("eyes").Label)
	require.Equal(t, "Look", c.Step("eyes.inspect").Label)
	require.NotNil(t, c.Field("weight"))
	require.NotNil(t, c.Topic("appetite"))
	require.NotNil(t, c.HandlingRow("settle"))
	require.NotNil(t, c.Problem("fever"))
	require.Nil(t, c.Step("wing.flap"))
	require.Equal(t, "Pink", c.Value("mm.colour", "pink"))
	require.Equal(t, "24.5", c.Value("weight", "24.5"), "a number is its own label")
	require.Equal(t, "odd", c.Value("unknown", "odd"))
}

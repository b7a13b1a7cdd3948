package say

import (
	"testing"

	"github.com/stretchr/testify/require"

	"dewclaw/rubric"
)

// quiet are labels of a report that does not mark how loud a murmur was.
type quiet struct{ labels }

func (quiet) GradeUnmarked(field string) string {
	if field == "xx-murmur" {
		return "How loud it was is not marked."
	}
	return ""
}

// A reason never claims that a grade was marked which was not.
func TestAGradeThatIsNotMarkedIsNotClaimed(t *testing.T) {
	line := func(code, field, site, truth, charted, at string) *rubric.Line {
		return &rubric.Line{Code: code, Args: []rubric.Arg{{Name: "field", Value: field}, {Name: "site", Value: site}, {Name: "truth", Value: truth},
			{Name: "charted", Value: charted}, {Name: "as", Value: field}, {Name: "at", Value: at}}}
	}
	for _, row := range []struct {
		line *rubric.Line
		want string
	}{
		{line("finding.caught", "xx-murmur", "xx-apex", "xx-4", "xx-2", "xx-apex"),
			"You found it: size of murmur (the apex), “very 4”. You charted “very 2” (the apex). How loud it was is not marked."},
		{line("finding.caught", "xx-murmur", "xx-apex", "xx-4", "xx-4", "xx-apex"),
			"You found it: size of murmur (the apex), “very 4”, and your sheet says so. How loud it was is not marked."},
		{line("finding.partly", "xx-murmur", "xx-apex", "xx-4", "xx-2", ""),
			"You noticed it: size of murmur (the apex), “very 4”. You charted “very 2”; side and site are part of a finding. How loud it was is not marked."},
		{line("finding.partly", "xx-effort", "xx-apex", "xx-4", "xx-2", ""),
			"You noticed it: size of effort (the apex), “very 4”. You charted “very 2”; where it is, and of what kind or grade, are part of a finding."},
	} {
		require.Equal(t, row.want, Sentence(row.line, quiet{}))
	}
	require.NotContains(t, Sentence(line("finding.caught", "xx-murmur", "xx-apex", "xx-4", "xx-2", "xx-apex"), labels{}), "not marked")
}

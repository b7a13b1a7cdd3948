package cases

import (
	"strings"
	"testing"
	"testing/fstest"

	"dewclaw/rubric/file"
	"github.com/stretchr/testify/require"
)

// otterFile is a species of its own for these checks: a dog that has no hip.
const otterFile = `catalogue: otter
extends: dog
label: Otter
regions: {hip: ~}
steps: {hip.move: ~}
fields: {hip.motion: ~, hip.crepitus: ~, hip.response: ~}
precautions: {painful part last: {label: The sore place last, kind: last, steps: ['{painful}'], among: [heart.auscultate]}}
`

// A rubric is told, with the place of the row, what no act could earn and which
// accepted way breaks one of its own rules.
func TestWhatARubricAsksCanBeEarned(t *testing.T) {
	l, err := Load(BuiltinFiles(), fstest.MapFS{"catalogue/otter.yaml": {Data: []byte(otterFile)}})
	require.NoError(t, err)
	data, err := file.Source("veterinary")
	require.NoError(t, err)
	text := string(data)
	require.Empty(t, CheckRubric(l, "veterinary.yaml", data))
	const route = "order: [[distance], [head], [neck], [forelimbs], [chest, abdomen, trunk], [hindlimbs], [rear], [gait]]"
	for _, c := range []struct{ name, old, now, want string }{
		{"for the other track", "- {step: hip.move, weight: standard, when: [routine]}",
			"- {step: hip.move, weight: standard, when: [routine], track: [technician]}",
			"this row is for the track technician and the rubric is for veterinary students: it never applies"},
		{"a step that the species lacks", "- {step: hip.move, weight: standard, when: [routine]}",
			"- {step: hip.move, weight: standard, when: [routine], species: [otter]}",
			`the catalogue of otter has no step "hip.move": no act on this species can earn the line; take otter out of species`},
		{"a rule that is never judged", "  - id: room-light-first\n    kind: share\n    before: [eyes.inspect, eyes.menace, eyes.light]\n",
			"  - id: room-light-first\n    kind: share\n    species: [otter]\n    before: [hip.move]\n",
			`rule "room-light-first" can never be judged for otter: nothing there has one of before and one of after`},
		{"a route against a rule", route,
			"order: [[distance], [head], [neck], [forelimbs], [hindlimbs], [chest, abdomen, trunk], [rear], [gait]]", ""},
		{"the hands first", route, "order: [[head], [distance], [neck], [forelimbs], [chest, abdomen, trunk], [hindlimbs], [rear], [gait]]",
			`route "head-to-tail" breaks rule "look-first" for dog: it has "distance.observe" only after "head.palpate"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Contains(t, text, c.old)
			changed := strings.Replace(text, c.old, c.now, 1)
			if c.want == "" { // the chest may float to the front there; without that it breaks the rule
				require.Empty(t, CheckRubric(l, "x.yaml", []byte(changed)))
				changed = strings.Replace(changed, "      - {stages: [chest], places: [first, in place]}\n", "", 1)
				c.want = `route "head-to-tail" breaks rule "listen-while-quiet" for dog: it has "heart.auscultate" only after`
			}
			got := CheckRubric(l, "x.yaml", []byte(changed))
			require.NotEmpty(t, got)
			var all []string
			for _, p := range got {
				all = append(all, p.String())
			}
			require.Contains(t, strings.Join(all, "\n"), c.want)
			first, _, _ := strings.Cut(c.now, "\n")
			line := 1 + strings.Count(changed[:strings.Index(changed, first)], "\n")
			require.InDelta(t, line, got[0].Line, 3, "the row is at line %d", line)
		})
	}
}

// A situation that a rubric marks must let every domain with marks be earned.
func TestADomainThatNothingEarns(t *testing.T) {
	data, err := file.Source("veterinary")
	require.NoError(t, err)
	var kept []string
	for line := range strings.Lines(string(data)) {
		triage := strings.Contains(line, "when: [triage]") && strings.Contains(line, "- {step:")
		if !triage || strings.Contains(line, "handle:") || strings.Contains(line, "distance.observe") {
			kept = append(kept, line)
		}
	}
	var all []string
	for _, p := range CheckRubric(Builtin(), "x.yaml", []byte(strings.Join(kept, ""))) {
		all = append(all, p.Message)
	}
	require.Contains(t, all, "no step required of a dog in a triage examination measures a vital sign: the 20 points of vitals can never be earned")
}

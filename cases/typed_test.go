package cases

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"

	"dewclaw/rubric"
	"github.com/stretchr/testify/require"
)

func dog(t testing.TB) *Catalogue {
	t.Helper()
	c := Builtin().Catalogue("dog")
	require.NotNil(t, c)
	return c
}

// typed are lines and the acts that they should become, as JSON.
var typed = []struct{ line, want string }{
	{"auscultate left apex", `[{"n":0,"kind":"examine","step":"heart.auscultate","site":"left apex"}]`},
	{"Auscultate heart right apex 15 s", `[{"n":0,"kind":"examine","step":"heart.auscultate","site":"right apex","seconds":15}]`},
	{"listen to lungs R caudodorsal", `[{"n":0,"kind":"examine","step":"lungs.auscultate","site":"right caudodorsal"}]`},
	{"look", `[{"n":0,"kind":"examine","step":"distance.observe"}]`},
	{"weigh", `[{"n":0,"kind":"examine","step":"weight.measure"}]`},
	{"palpate abdomen caudal gently", `[{"n":0,"kind":"examine","step":"abdomen.palpate","site":"caudal","manner":"gentle"}]`},
	{"feel popliteal nodes both", `[{"n":0,"kind":"examine","step":"popliteal_nodes.palpate","site":"left"},{"n":0,"kind":"examine","step":"popliteal_nodes.palpate","site":"right"}]`},
	{"otoscopy left ear", `[{"n":0,"kind":"examine","step":"ears.otoscopy","site":"left"}]`},
	{"take temperature rectal", `[{"n":0,"kind":"examine","step":"temperature.measure","site":"rectal"}]`},
	{"auscultate tail", `[{"n":0,"kind":"examine","step":"tail.auscultate"}]`},
	{"count breaths", `[{"n":0,"kind":"examine","step":"breathing.count"}]`},
	{"HR 24x4", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","over":15}]`},
	{"HR 24 x 4 normal", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","over":15,"interpretation":"normal"}]`},
	{"HR 96/15s", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","over":15}]`},
	{"HR 24x4!", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","over":15,"sure":"sure"}]`},
	{"MM pink ~; CRT 1.5?", `[{"n":0,"kind":"record","field":"mm.colour","value":"pink","sure":"fairly"},{"n":0,"kind":"record","field":"crt","value":"1.5","sure":"guess"}]`},
	{"ask appetite?", `[{"n":0,"kind":"ask","topic":"appetite"}]`},
	{"rest of heart normal!", `[{"n":0,"kind":"record","region":"heart","value":"normal"}]`},
	{"T not examined because it growled!", `[{"n":0,"kind":"record","field":"temperature","value":"not examined","reason":"it growled!"}]`},
	{"HR 96", `[{"n":0,"kind":"record","field":"heart.rate","value":"96"}]`},
	{"HR 96 normal", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","interpretation":"normal"}]`},
	{"HR 96 left apex", `[{"n":0,"kind":"record","field":"heart.rate","value":"96"}]`},
	{"RR 8x4", `[{"n":0,"kind":"record","field":"resp.rate","value":"32","over":15}]`},
	{"T 38.6", `[{"n":0,"kind":"record","field":"temperature","value":"38.6"}]`},
	{"T 38,6 °C high", `[{"n":0,"kind":"record","field":"temperature","value":"38,6","interpretation":"high"}]`},
	{"T 101.5 F", `[{"n":0,"kind":"record","field":"temperature","value":"101.5"}]`},
	{"MM pink", `[{"n":0,"kind":"record","field":"mm.colour","value":"pink"}]`},
	{"MM pale pink, tacky", `[{"n":0,"kind":"record","field":"mm.colour","value":"pale pink"},{"n":0,"kind":"record","field":"mm.moisture","value":"tacky"}]`},
	{"CRT <2", `[{"n":0,"kind":"record","field":"crt","value":"<2"}]`},
	{"CRT 1.5 s", `[{"n":0,"kind":"record","field":"crt","value":"1.5"}]`},
	{"R popl LN 2 cm firm", `[{"n":0,"kind":"record","field":"node.popliteal.size","site":"right","value":"grape"},{"n":0,"kind":"record","field":"node.popliteal.texture","site":"right","value":"firm"}]`},
	{"mandibular node bean left", `[{"n":0,"kind":"record","field":"node.mandibular.size","site":"left","value":"bean"}]`},
	{"BCS 5", `[{"n":0,"kind":"record","field":"body.condition","value":"5"}]`},
	{"BCS 5/9", `[{"n":0,"kind":"record","field":"body.condition","value":"5"}]`},
	{"murmur 3 left apex", `[{"n":0,"kind":"record","field":"heart.murmur","site":"left apex","value":"3"}]`},
	{"murmur grade III/VI left apex", `[{"n":0,"kind":"record","field":"heart.murmur","site":"left apex","value":"3"}]`},
	{"no murmur left base", `[{"n":0,"kind":"record","field":"heart.murmur","site":"left base","value":"none"}]`},
	{"murmur none all", `[{"n":0,"kind":"record","field":"heart.murmur","site":"left apex","value":"none"},{"n":0,"kind":"record","field":"heart.murmur","site":"left base","value":"none"},{"n":0,"kind":"record","field":"heart.murmur","site":"right apex","value":"none"}]`},
	{"wt 24.5 kg", `[{"n":0,"kind":"record","field":"weight","value":"24.5 kg"}]`},
	{"wt 54 lb", `[{"n":0,"kind":"record","field":"weight","value":"54 lb"}]`},
	{"bladder small", `ERR`},
	{"bladder large, tense", `[{"n":0,"kind":"record","field":"bladder.size","site":"caudal","value":"large tense"}]`},
	{"cranial drawer left positive", `[{"n":0,"kind":"record","field":"stifle.stability","site":"left","value":"slides"}]`},
	{"ask appetite", `[{"n":0,"kind":"ask","topic":"appetite"}]`},
	{"ask about the stool", `[{"n":0,"kind":"ask","topic":"stool"}]`},
	{"reassure", `[{"n":0,"kind":"handle","how":"reassure"}]`},
	{"give oxygen", `[{"n":0,"kind":"handle","how":"oxygen"}]`},
	{"call the veterinarian", `[{"n":0,"kind":"handle","how":"call"}]`},
	{"hold sternal", `[{"n":0,"kind":"handle","how":"hold sternal"}]`},
	{"wait 60", `[{"n":0,"kind":"wait","seconds":60}]`},
	{"wait 2 min", `[{"n":0,"kind":"wait","seconds":120}]`},
	{"rest of heart normal", `[{"n":0,"kind":"record","region":"heart","value":"normal"}]`},
	{"abdomen NAD", `[{"n":0,"kind":"record","region":"abdomen","value":"normal"}]`},
	{"T not examined because it struggled", `[{"n":0,"kind":"record","field":"temperature","value":"not examined","reason":"it struggled"}]`},
	{"clear murmur left apex", `[{"n":0,"kind":"record","field":"heart.murmur","site":"left apex"}]`},
	{"hint", `[{"n":0,"kind":"hint"}]`},
	{"HR 24x4; MM pink", `[{"n":0,"kind":"record","field":"heart.rate","value":"96","over":15},{"n":0,"kind":"record","field":"mm.colour","value":"pink"}]`},
}

func TestReadLine(t *testing.T) {
	c := dog(t)
	for _, row := range typed {
		t.Run(row.line, func(t *testing.T) {
			acts, err := c.ReadLine(row.line)
			if row.want == "ERR" {
				require.ErrorIs(t, err, ErrLine)
				return
			}
			require.NoError(t, err)
			got, err := json.Marshal(acts)
			require.NoError(t, err)
			require.JSONEq(t, row.want, string(got))
			knownOnly(t, c, acts)
		})
	}
}

// Every error says what was understood, what was not and what is near.
var misread = []struct{ line, want string }{
	{"", "nothing was typed; perhaps auscultate left apex, HR 24x4, ask appetite"},
	{"murmur 3", "Murmur 3: say where; perhaps left apex, left base, right apex"},
	{"HR fast", `Heart rate: "fast" is no value for it; perhaps HR 96, HR 24x4, HR 96/15s`},
	{"HR 24x7", "Heart rate: x7 does not part a minute evenly; perhaps x1, x2, x3, x4, x6, x10"},
	{"MM purplish", `Mucous membrane colour: "purplish" is none of its choices; perhaps pink, pale pink, pale, grey, blue, brick red, yellow, brown`},
	{"auscultate heart", "Listen to the heart: say where; perhaps left apex, left base, right apex"},
	{"take temp", "Take the temperature: say where; perhaps rectal, axillary, ear"},
	{"auscultate heart left cranial", "Listen to the heart: it has no site \"left cranial\"; perhaps left apex, left base, right apex"},
	{"auscultate tail left", "auscultate tail: it has no sites; leave the side out"},
	{"ask apetite", `a question: "apetite" is no topic of the history; perhaps appetite`},
	{"wait", "wait: say for how many seconds, 1 to 600; perhaps wait 60"},
	{"wait 9000", "wait: say for how many seconds, 1 to 600; perhaps wait 60"},
	{"rest of hart normal", `the rest of a region: "hart" is no region; perhaps heart, ears, gait, hair`},
	{"T", "Temperature: the value is missing; perhaps T 38.6"},
	{"T not examined", "Temperature not examined: say why; perhaps Temperature not examined because it struggled"},
	{"palpate heart base", `palpate: "heart base" is no region; perhaps heart, ears, head`},
	{"move left", `"move left" can mean more than one thing; perhaps Bend and stretch the joints left, Bend, stretch and spread the hip left, Bend and stretch stifle and hock left`},
	{"xyzzy", `"xyzzy" names no part of the examination`},
}

func TestReadLineErrors(t *testing.T) {
	c := dog(t)
	for _, row := range misread {
		t.Run(row.line, func(t *testing.T) {
			acts, err := c.ReadLine(row.line)
			require.ErrorIs(t, err, ErrLine, "%v", acts)
			require.EqualError(t, err, row.want)
		})
	}
}

// knownOnly holds that acts name nothing but ids of the catalogue.
func knownOnly(t testing.TB, c *Catalogue, acts []rubric.Act) {
	t.Helper()
	for _, a := range acts {
		switch a.Kind {
		case rubric.Examine:
			if s := c.Step(a.Step); s != nil {
				require.True(t, len(s.Sites) == 0 && a.Site == "" || slices.Contains(s.Sites, a.Site), "%+v", a)
				continue
			}
			region, verb, _ := strings.Cut(a.Step, ".")
			require.NotNil(t, c.Region(region), "%+v", a)
			require.True(t, slices.ContainsFunc(c.Steps, func(s Step) bool { return strings.HasSuffix(s.ID, "."+verb) }), "%+v", a)
			require.Empty(t, a.Site)
		case rubric.Record:
			if a.Region != "" {
				require.NotNil(t, c.Region(a.Region), "%+v", a)
				continue
			}
			f := c.Field(a.Field)
			require.NotNil(t, f, "%+v", a)
			require.Equal(t, f.PerSite, a.Site != "", "%+v", a)
			r := f.rubric()
			_, err := r.Read(a.Value)
			require.NoError(t, err, "%+v", a)
		case rubric.Ask:
			require.NotNil(t, c.Topic(a.Topic), "%+v", a)
		case rubric.Handle:
			require.NotNil(t, c.HandlingRow(a.How), "%+v", a)
		case rubric.Wait:
			require.Positive(t, a.Seconds)
		case rubric.Hint:
		default:
			t.Fatalf("a typed line became %+v", a)
		}
	}
}

// FuzzReadLine holds the law that no line makes ReadLine panic, that a line
// either fails with ErrLine or becomes acts, and that these name known ids.
func FuzzReadLine(f *testing.F) {
	for _, row := range typed {
		f.Add(row.line)
	}
	for _, row := range misread {
		f.Add(row.line)
	}
	f.Add("İ not examined \xff because")
	c := Builtin().Catalogue("dog")
	f.Fuzz(func(t *testing.T, text string) {
		acts, err := c.ReadLine(text)
		if err != nil {
			var e *LineError
			require.True(t, errors.As(err, &e))
			require.NotEmpty(t, e.Problem)
			return
		}
		require.NotEmpty(t, acts)
		knownOnly(t, c, acts)
	})
}

// Whatever stands in the catalogue can be typed by its label and by every
// abbreviation and synonym.
func TestEverythingCanBeTyped(t *testing.T) {
	c := dog(t)
	for i := range c.Fields {
		f := &c.Fields[i]
		for _, name := range append([]string{f.ID, f.Label}, append(f.Abbr, f.Synonyms...)...) {
			for _, ch := range f.Of {
				if !f.Chosen() {
					continue
				}
				for _, value := range append([]string{ch.ID, ch.Label}, ch.Synonyms...) {
					line := name + " " + value
					if len(f.Sites) > 0 {
						line += " " + f.Sites[len(f.Sites)-1]
					}
					acts, err := c.ReadLine(line)
					require.NoError(t, err, line)
					require.Equal(t, f.ID, acts[0].Field, line)
					require.Equal(t, ch.ID, acts[0].Value, line)
				}
			}
		}
	}
	for _, h := range c.Handling {
		for _, name := range append([]string{h.ID, h.Label}, h.Synonyms...) {
			acts, err := c.ReadLine(name)
			require.NoError(t, err, name)
			require.Equal(t, h.ID, acts[0].How, name)
		}
	}
	for _, s := range c.Steps {
		for _, name := range append([]string{s.ID, s.Label}, s.Synonyms...) {
			line := name
			if len(s.Sites) > 0 {
				line += " " + s.Sites[0]
			}
			acts, err := c.ReadLine(line)
			require.NoError(t, err, line)
			require.Equal(t, s.ID, acts[0].Step, line)
		}
	}
}

// Where places have no names, the steps that have some on the drawing are taken
// without one and never with one; every other line reads as it does elsewhere.
func TestReadUnplaced(t *testing.T) {
	c := dog(t)
	const refused = "its places have no names here"
	for line, want := range map[string]string{
		"auscultate heart":             `[{"n":0,"kind":"examine","step":"heart.auscultate"}]`,
		"listen to lungs 20 s":         `[{"n":0,"kind":"examine","step":"lungs.auscultate","seconds":20}]`,
		"auscultate left apex":         refused,
		"auscultate heart right apex":  refused,
		"listen to lungs all":          refused,
		"percuss chest left dorsal":    refused,
		"weigh; auscultate left apex":  refused,
		"palpate abdomen caudal":       `[{"n":0,"kind":"examine","step":"abdomen.palpate","site":"caudal"}]`,
		"otoscopy left ear":            `[{"n":0,"kind":"examine","step":"ears.otoscopy","site":"left"}]`,
		"murmur 3 left apex":           `[{"n":0,"kind":"record","field":"heart.murmur","site":"left apex","value":"3"}]`,
		"auscultate heart left dorsal": refused,
	} {
		acts, err := c.ReadUnplaced(line)
		if want == refused {
			require.ErrorIs(t, err, ErrLine, line)
			require.ErrorContains(t, err, refused, line)
			require.NotContains(t, err.Error(), "perhaps", line)
			continue
		}
		require.NoError(t, err, line)
		got, err := json.Marshal(acts)
		require.NoError(t, err)
		require.JSONEq(t, want, string(got), line)
	}
}

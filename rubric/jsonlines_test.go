package rubric_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"dewclaw/rubric"
)

// example is a transcript of every kind of line.
const example = `{"n":1,"kind":"examine","step":"distance.observe","seconds":20}
{"n":2,"kind":"examine","step":"heart.auscultate","site":"left apex","seconds":15}

{"n":3,"kind":"record","field":"heart.rate","value":"104","over":15,"interpretation":"normal"}
{"n":4,"kind":"record","region":"heart","value":"normal"}
{"n":5,"kind":"ask","topic":"appetite"}
{"n":6,"kind":"handle","how":"reassure"}
{"n":7,"kind":"wait","seconds":60}
{"n":8,"kind":"lift","of":2,"seconds":12}
{"n":9,"kind":"hint"}
{"n":10,"kind":"record","field":"temperature","value":"not examined","reason":"It would not have it."}
{"n":11,"kind":"rate","scale":"global","value":"3","by":"x"}
{"n":12,"kind":"conclude","problems":["osteoarthritis"],"urgency":"routine","report":{"situation":"s","fields":[{"field":"heart.rate","value":"104"}]},"outcome":{"clock":90,"ended":"concluded"}}
`

func TestReadTranscript(t *testing.T) {
	list, err := rubric.ReadTranscript(strings.NewReader(example))
	require.NoError(t, err)
	require.Len(t, list, 12)
	require.Equal(t, rubric.Act{N: 3, Kind: rubric.Record, Field: "heart.rate", Value: "104", Over: 15, Interpretation: "normal"}, list[2].Act)
	require.Equal(t, 90, list[11].Outcome.Clock)
	require.Equal(t, "104", list[11].Act.Report.Fields[0].Value)
	noEnd, err := rubric.ReadTranscript(strings.NewReader(strings.TrimSpace(example)))
	require.NoError(t, err)
	require.Equal(t, list, noEnd)
	empty, err := rubric.ReadTranscript(strings.NewReader(""))
	require.NoError(t, err)
	require.Empty(t, empty)
}

func TestBadLinesAreNamedWithWhatWouldBeRight(t *testing.T) {
	ok := `{"n":1,"kind":"examine","step":"a"}` + "\n"
	rows := []struct{ name, text, want string }{
		{"not a number", `{"n":1,"kind":"wait","seconds":NaN}`, "line 1: not JSON at byte"},
		{"too large a number", `{"n":1,"kind":"wait","seconds":1e309}`, "line 1: seconds: number 1e309 does not fit; write a whole number"},
		{"a fraction", `{"n":1,"kind":"wait","seconds":1.5}`, "write a whole number"},
		{"full-width digits", `{"n":１,"kind":"wait"}`, "line 1: not JSON"},
		{"a text for a number", `{"n":"1","kind":"wait"}`, "n: string does not fit; write a whole number"},
		{"invalid UTF-8", "{\"n\":1,\"kind\":\"ask\",\"topic\":\"\xff\"}", "line 1: not valid UTF-8; save the file as UTF-8"},
		{"the same number again", ok + ok, "line 2: n is 1; write 2"},
		{"a gap", ok + `{"n":3,"kind":"hint"}`, "line 2: n is 3; write 2"},
		{"no number", `{"kind":"hint"}`, "line 1: n is 0; write 1"},
		{"unknown member", `{"n":1,"kind":"hint","colour":"red"}`, `unknown field "colour"`},
		{"a member twice", `{"n":1,"n":1,"kind":"hint"}`, `"n" stands twice; write it once`},
		{"capitals", `{"n":1,"Kind":"hint"}`, "members are written in small letters"},
		{"unknown kind", `{"n":1,"kind":"dance"}`, `kind: "dance" is no kind of act; write examine, lift`},
		{"a member missing", `{"n":1,"kind":"examine"}`, "step: missing from an act of kind examine; write one"},
		{"a member too many", `{"n":1,"kind":"ask","topic":"a","how":"b"}`, "how: has no meaning in an act of kind ask"},
		{"field and region", `{"n":1,"kind":"record","field":"a","region":"b","value":"normal"}`, "a record needs a field or a region"},
		{"a region that is not normal", `{"n":1,"kind":"record","region":"b","value":"bad"}`, `write "normal"`},
		{"a gap without a reason", `{"n":1,"kind":"record","field":"a","value":"not examined"}`, "reason: missing"},
		{"a call that is none", `{"n":1,"kind":"record","field":"a","value":"1","interpretation":"meh"}`, "write low, normal, high"},
		{"no such urgency", `{"n":1,"kind":"conclude","urgency":"soon"}`, "write routine, same day, emergency"},
		{"negative seconds", `{"n":1,"kind":"wait","seconds":-5}`, "seconds: -5 is out of range"},
		{"a lift of what comes later", `{"n":1,"kind":"lift","of":1}`, "of: 1 is no earlier act"},
		{"a control character", `{"n":1,"kind":"ask","topic":"a\u0000b"}`, "topic: holds a control character"},
		{"too long a text", `{"n":1,"kind":"ask","topic":"` + strings.Repeat("a", 121) + `"}`, "topic: 121 bytes long; write at most 120 bytes"},
		{"too long a line", `{"n":1,"kind":"ask","topic":"` + strings.Repeat("a", 20_000) + `"}`, "line 1: longer than 16000 bytes"},
		{"half a line", `{"n":1,"kind":`, "line 1: the line ends in the middle"},
		{"two on a line", `{"n":1,"kind":"hint"} {"n":2,"kind":"hint"}`, "more than one value"},
		{"a list", `[1,2]`, "array does not fit"},
		{"nothing", `null`, "n is 0; write 1"},
	}
	for _, row := range rows {
		t.Run(row.name, func(t *testing.T) {
			_, err := rubric.ReadTranscript(strings.NewReader(row.text))
			require.ErrorIs(t, err, rubric.ErrTranscript)
			require.ErrorContains(t, err, row.want)
			require.Less(t, len(err.Error()), 400)
		})
	}
	var many strings.Builder
	for i := range rubric.ActsMost + 1 {
		fmt.Fprintf(&many, "{\"n\":%d,\"kind\":\"hint\"}\n", i+1)
	}
	_, err := rubric.ReadTranscript(strings.NewReader(many.String()))
	require.ErrorContains(t, err, "line 5001: more than 5000 acts")
	_, err = rubric.ReadTranscript(failing{})
	require.ErrorIs(t, err, errBroken)
}

var errBroken = errors.New("the disk is gone")

type failing struct{}

func (failing) Read([]byte) (int, error)  { return 0, errBroken }
func (failing) Write([]byte) (int, error) { return 0, errBroken }

func TestWriteTranscriptReadsBack(t *testing.T) {
	list, err := rubric.ReadTranscript(strings.NewReader(example))
	require.NoError(t, err)
	list[1].Outcome = rubric.Outcome{Clock: 15, Closed: &rubric.Contact{Of: 1, Seconds: 3}, Percepts: []rubric.Percept{{Field: "heart.murmur", Sense: "sound"}},
		Shown: []rubric.Shown{{Field: "heart.murmur", Value: "3"}}, Events: []rubric.Event{{ID: "e", Severity: "minor"}}, State: []byte{1, 2, 3}}
	var text bytes.Buffer
	require.NoError(t, rubric.WriteTranscript(&text, list))
	back, err := rubric.ReadTranscript(&text)
	require.NoError(t, err)
	require.Equal(t, list, back)

	text.Reset()
	require.NoError(t, rubric.WriteActs(&text, list))
	require.NotContains(t, text.String(), "outcome")
	back, err = rubric.ReadTranscript(&text)
	require.NoError(t, err)
	require.Equal(t, list[1].Act, back[1].Act)
	require.ErrorIs(t, rubric.WriteActs(failing{}, list), errBroken)
}

func FuzzReadTranscript(f *testing.F) {
	f.Add([]byte(example))
	for _, s := range []string{"", "\n\n", "{}", `{"n":1,"kind":"hint"}`, `{"n":1,"kind":"record","field":"a","value":"＜2"}`, `[[[[[[`, `{"n":1,"kind":"hint","outcome":{"state":"AQ=="}}`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := rubric.ReadTranscript(bytes.NewReader(data))
		if err != nil {
			require.ErrorIs(t, err, rubric.ErrTranscript)
			return
		}
		var text bytes.Buffer
		require.NoError(t, rubric.WriteTranscript(&text, list))
		back, err := rubric.ReadTranscript(&text)
		if err != nil {
			require.ErrorContains(t, err, "longer than", "only escapes may make a line too long")
			return
		}
		require.Equal(t, len(list), len(back))
	})
}

func FuzzGrade(f *testing.F) {
	w := sick(f, "veterinary")
	triage := gasping(f, "technician")
	var text bytes.Buffer
	require.NoError(f, rubric.WriteTranscript(&text, w.play(w.visit(w.required())[:60])))
	f.Add(text.Bytes())
	f.Add([]byte(example))
	for _, s := range []string{
		`{"n":1,"kind":"record","field":"heart.rate","value":"1e309"}`,
		`{"n":1,"kind":"examine","step":"heart.auscultate","site":"left apex","seconds":9223372036854775807}`,
		"{\"n\":1,\"kind\":\"handle\",\"how\":\"oxygen\"}\n{\"n\":2,\"kind\":\"handle\",\"how\":\"stop\"}\n{\"n\":3,\"kind\":\"conclude\",\"urgency\":\"emergency\",\"problems\":[\"x\",\"x\"]}",
		"{\"n\":1,\"kind\":\"examine\",\"step\":\"stifle.palpate\",\"site\":\"right\"}\n{\"n\":2,\"kind\":\"lift\",\"of\":1,\"seconds\":3}\n{\"n\":3,\"kind\":\"record\",\"region\":\"stifle\",\"value\":\"normal\"}\n{\"n\":4,\"kind\":\"record\",\"field\":\"stifle.palpate.pain\",\"site\":\"left\",\"value\":\"4\"}",
		`{"n":1,"kind":"examine","step":"mouth.refill","outcome":{"clock":4,"refused":true,"shown":[{"field":"crt","value":"<2"}],"events":[{"id":"e","severity":"critical","sign":1}],"closed":{"of":1,"seconds":-4}}}`,
		`{"n":1,"kind":"record","field":"heart.rate","value":"24x4","over":15,"interpretation":"high"}`,
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := rubric.ReadTranscript(bytes.NewReader(data))
		if err != nil {
			return
		}
		for _, x := range []*world{w, triage} {
			rep := rubric.Grade(x.r, x.key, list)
			requireSound(t, rep)
			again, err := rubric.EncodeReport(rubric.Grade(x.r, x.key, list))
			require.NoError(t, err)
			once, err := rubric.EncodeReport(rep)
			require.NoError(t, err)
			require.Equal(t, once, again)
		}
	})
}

func TestWhatIsHiddenStaysHidden(t *testing.T) {
	k := rubric.Key{Species: "dog", Findings: []rubric.Finding{{Field: "secret"}}}
	o := rubric.Outcome{Answer: "secret", Shown: []rubric.Shown{{Field: "secret"}}}
	for _, v := range []any{k, &k, o, &o, rubric.Entry{Outcome: o}, rubric.Transcript{{Outcome: o}}} {
		_, err := json.Marshal(v)
		require.ErrorIs(t, err, rubric.ErrHidden)
		for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%d", "%x"} {
			require.NotContains(t, fmt.Sprintf(verb, v), "secret", verb)
		}
		var log bytes.Buffer
		slog.New(slog.NewTextHandler(&log, nil)).Info("x", "v", v)
		slog.New(slog.NewJSONHandler(&log, nil)).Info("x", "v", v)
		require.NotContains(t, log.String(), "secret")
	}
	text, err := rubric.EncodeKey(k)
	require.NoError(t, err)
	back, err := rubric.DecodeKey(text)
	require.NoError(t, err)
	require.Equal(t, k.Findings, back.Findings)
	text, err = rubric.EncodeOutcome(o)
	require.NoError(t, err)
	backO, err := rubric.DecodeOutcome(text)
	require.NoError(t, err)
	require.Equal(t, o, backO)
	_, err = rubric.DecodeKey([]byte("{"))
	require.Error(t, err)
	_, err = rubric.DecodeOutcome([]byte("["))
	require.Error(t, err)
}

func TestReportsReadBack(t *testing.T) {
	w := sick(t, "veterinary")
	rapid.Check(t, func(t *rapid.T) {
		done, _ := imperfect(t, w)
		rep := w.grade(spoil(t, w, w.visit(done)))
		text, err := rubric.EncodeReport(rep)
		require.NoError(t, err)
		back, err := rubric.DecodeReport(text)
		require.NoError(t, err)
		require.Equal(t, rep, back)
	})
	text, err := rubric.EncodeReport(rubric.Grade(w.r, rubric.Key{}, nil))
	require.NoError(t, err)
	require.NotContains(t, string(text), "null")
	_, err = rubric.DecodeReport([]byte(`{"total":1e9}`))
	require.Error(t, err)
}

package server

import (
	"bytes"
	"compress/gzip"
	"encoding/base64"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"image/gif"
	"io"
	"log/slog"
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"dewclaw/cases"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// secret is something that must not be seen, in every form in which it might travel.
type secret struct {
	name  string
	forms [][]byte
}

// inForms gives a secret as it is, as hex, and as base64 at each of three offsets.
func inForms(name string, raw []byte) secret {
	s := secret{name: name, forms: [][]byte{raw, []byte(hex.EncodeToString(raw)), bytes.ToLower(raw)}}
	for shift := range 3 {
		padded := append(make([]byte, shift), raw...)
		for _, enc := range []*base64.Encoding{base64.RawStdEncoding, base64.RawURLEncoding} {
			text := enc.EncodeToString(padded)
			text = text[(shift*8+5)/6 : len(text)-1] // without the characters that neighbours share
			s.forms = append(s.forms, []byte(text))
		}
	}
	return s
}

// plantedMarks are the planted words.
func plantedMarks() []secret {
	var out []secret
	for _, m := range []string{markCase, markTitle, markTeaching, markTag, markWhy, markFile, markCue, "zqhazardzq", "Zqbrokenzq"} {
		word := regexp.MustCompile(`(?i)zq[a-z]+zq`).FindString(m)
		out = append(out, inForms(word, []byte(word)))
		out[len(out)-1].forms = append(out[len(out)-1].forms, []byte("Z"+word[1:]))
	}
	return out
}

// rates finds a true rate standing as a number of its own: those of the case,
// and those that were there at each act, whole and to the digit.
func (sc *school) rates(id string) *regexp.Regexp {
	words := []string{markHeart, markBreath}
	row, err := sc.s.store.Attempt(sc.t.Context(), id)
	require.NoError(sc.t, err)
	played, err := sc.s.transcript(sc.t.Context(), row)
	require.NoError(sc.t, err)
	for _, e := range played {
		for _, shown := range e.Outcome.Shown {
			if shown.Field == "heart.rate" || shown.Field == "resp.rate" {
				whole, _, _ := strings.Cut(shown.Value, ".")
				words = append(words, regexp.QuoteMeta(shown.Value), whole)
			}
		}
	}
	return regexp.MustCompile(`\b(` + strings.Join(words, "|") + `)\b`)
}

// drawing is what draws the animal, the same for every patient of a species.
var drawing = regexp.MustCompile(` (d|[xy][12]?|c[xy]|r|points|transform|data-x|data-y|width|height)="[^"]*"|"x":\d+,"y":\d+`)

// innards are hidden bytes of an attempt: seed, state, hashes, words of key and outcome.
func (sc *school) innards(id string) []secret {
	row, err := sc.s.store.Attempt(sc.t.Context(), id)
	require.NoError(sc.t, err)
	out := []secret{inForms("seed", row.Seed), inForms("case hash", []byte(row.CaseHash)), inForms("catalogue hash", []byte(row.CatalogueHash)),
		inForms("secret of ids", sc.s.secret)}
	acts, err := sc.s.store.Acts(sc.t.Context(), row.Transcript, 0)
	require.NoError(sc.t, err)
	for _, a := range acts {
		e, err := decodeEntry(a)
		require.NoError(sc.t, err)
		if len(e.Outcome.State) > 12 {
			out = append(out, inForms("state", e.Outcome.State))
		}
	}
	for _, word := range []string{`"shown"`, `"grey_low":`, `"precautions":`, `"withhold"`} {
		if word != `"grey_low":` { // a released debrief has ranges
			out = append(out, inForms("a word of the key", []byte(word)))
		}
	}
	return out
}

// lookFor fails where an answer holds one of the secrets in body or headers.
func lookFor(t testing.TB, where string, r *reply, secrets []secret, rates *regexp.Regexp) {
	t.Helper()
	head := new(bytes.Buffer)
	for k, v := range r.header {
		if k != "X-Request-Id" && k != "Set-Cookie" && k != "Content-Length" {
			fmt.Fprintf(head, "%s: %s\n", k, v)
		}
	}
	texts := [][]byte{r.body, head.Bytes()}
	kind := r.header.Get("Content-Type")
	if medium := strings.HasPrefix(kind, "audio/") || strings.HasPrefix(kind, "image/"); medium {
		if lookedBefore(t, append(head.Bytes(), r.body...), secrets) {
			return
		}
		parts, words := insides(t, where, r)
		texts = append(texts, parts...)
		if rates != nil {
			require.NotRegexp(t, rates, words, "%s names a rate", where)
			rates = nil // the rest of it is samples, pixels and coordinates
		}
	}
	if kind == "application/zip" {
		for name, f := range unzipped(t, r) {
			texts = append(texts, f)
			if rates != nil && strings.HasPrefix(name, "visits/") {
				require.NotRegexp(t, rates, string(f), "%s shows a rate in %s", where, name)
			}
		}
		rates = nil // the rest of it counts notes
	}
	if strings.Contains(where, "/log") {
		rates = nil // notes are numbered
	}
	if strings.Contains(where, "/experts") { // nobody's visit: it tells what is heard in words, and counts
		rates = nil
		secrets = slices.DeleteFunc(slices.Clone(secrets), func(x secret) bool { return strings.EqualFold(x.name, markCue) })
	}
	if z, err := gzip.NewReader(bytes.NewReader(r.body)); err == nil {
		plain, err := io.ReadAll(z)
		require.NoError(t, err)
		texts = append(texts, plain)
	}
	for _, text := range texts {
		for _, s := range secrets {
			for _, form := range s.forms {
				require.False(t, bytes.Contains(text, form), "%s shows the %s", where, s.name)
			}
		}
		if rates != nil && !strings.Contains(where, "/static/") {
			require.NotRegexp(t, rates, drawing.ReplaceAllString(string(text), ""), "%s shows a rate", where)
		}
	}
}

// walk asks every route of the table for everything it can be asked, without
// ending the visit or the session.
func (sc *school) walk(who string, attempt string, n int, see func(where string, r *reply)) {
	program, browser := sc.anyone(), sc.anyone()
	if who != "" {
		program = sc.as(who)
		got := sc.anyone().send("POST", "/api/v1/session", signInForm{Login: who, Password: testPassword, Cookie: true})
		browser.cookie = setCookie(sc.t, got, "dewclaw").Value
	}
	bodies := []any{nil, "{}", "nonsense", attemptForm{Case: markCase}, attemptForm{Case: sc.plantedID(), Track: "x"},
		actForm{After: 0, Retry: "another-retry", Act: look}, actForm{After: n, Retry: "another-retry", Act: sentAct{Kind: "examine", Step: "x"}}}
	for _, r := range routes() {
		if strings.HasSuffix(r.path, "/session") && r.method != get || strings.HasSuffix(r.path, "/finish") && r.method != get || r.path == "/logout" {
			continue
		}
		for _, path := range sc.paths(r.path, attempt, n) {
			if r.method == get {
				for _, c := range []*client{program, browser} {
					see(who+" GET "+path, c.get(path))
					see(who+" HEAD "+path, c.send("HEAD", path, nil))
				}
				continue
			}
			for _, body := range bodies {
				see(fmt.Sprintf("%s %s %s %v", who, r.method, path, body), browser.send(r.method, path, body))
			}
		}
	}
}

// paths fills a route's pattern with everything that can stand there.
func (sc *school) paths(pattern, attempt string, n int) []string {
	if strings.HasPrefix(pattern, "/static/") {
		var out []string
		for name := range sc.s.static.files {
			out = append(out, sc.s.static.prefix+"/"+name)
		}
		return out
	}
	out := []string{pattern}
	for _, name := range regexp.MustCompile(`:\w+`).FindAllString(pattern, -1) {
		var next []string
		for _, path := range out {
			for _, value := range sc.fillers(pattern, name, attempt, n) {
				next = append(next, strings.Replace(path, name, value, 1))
			}
		}
		out = next
	}
	if strings.HasSuffix(pattern, "/line") {
		out = append(out, out[0]+"?text=HR+high", out[0]+"?text=zq")
	}
	return out
}

// fillers are what can stand in place of a parameter; of one that is not known
// here, the attempt and a number.
func (sc *school) fillers(pattern, name, attempt string, n int) []string {
	switch name {
	case ":id":
		if strings.Contains(pattern, "/people/") {
			return []string{sc.idOf("student")}
		}
		return []string{attempt}
	case ":n":
		var all []string
		for i := range n + 1 {
			all = append(all, fmt.Sprint(i+1))
		}
		return all
	case ":species":
		return []string{"dog"}
	case ":region":
		return []string{"stifle"}
	case ":token":
		return []string{sc.s.askCheck(face.Person{ID: sc.idOf("student")}).token}
	case ":clip":
		return []string{clipBeats, clipFirst, clipSecond}
	}
	return []string{attempt, "1"}
}

// TestNothingHiddenLeaves plants marks in every hidden place of a case and walks
// every route as everybody, in every state of a visit.
func TestNothingHiddenLeaves(t *testing.T) {
	t.Parallel()
	logged := new(syncBuffer)
	sc := planted(t, func(c *Config) {
		c.Log = slog.New(slog.NewJSONHandler(logged, &slog.HandlerOptions{Level: slog.LevelDebug}))
	})
	v := sc.as("student").begin(sc.plantedID())
	students := []string{"", "student2", "student"}
	check := func(state string, n int) {
		secrets, rates := append(plantedMarks(), sc.innards(v.id)...), sc.rates(v.id)
		for _, who := range students {
			sc.walk(who, v.id, n, func(where string, r *reply) { lookFor(t, state+": "+where, r, secrets, rates) })
		}
		for _, who := range []string{"instructor", "coordinator"} { // they see titles, never the machinery
			sc.walk(who, v.id, n, func(where string, r *reply) {
				lookFor(t, state+": "+where, r, secrets[len(plantedMarks()):], rates)
			})
		}
	}
	check("before the first act", 0)
	n := playPlanted(v)
	check("during the visit", n)
	v.finish()

	// Released: the owner and the staff see the debrief; nobody else sees more than before.
	secrets, rates := append(plantedMarks(), sc.innards(v.id)...), sc.rates(v.id)
	for _, who := range []string{"", "student2"} {
		sc.walk(who, v.id, n, func(where string, r *reply) { lookFor(t, "graded: "+where, r, secrets, rates) })
	}
	sc.walk("student", v.id, n, func(where string, r *reply) { lookFor(t, "graded: "+where, r, secrets[len(plantedMarks()):], nil) })
	report := string(v.get(v.path("/report")).is(http.StatusOK).body)
	for _, told := range []string{markTeaching, "Osteoarthritis"} {
		require.Contains(t, report, told, "the debrief tells what the marks hid, so the walk can find it")
	}
	require.Contains(t, string(v.get(v.path("")).body), markCue, "and the words of what was heard are told now")
	second := sc.as("student").begin(sc.plantedID())
	sc.walk("student2", second.id, 1, func(where string, r *reply) { lookFor(t, "a second visit: "+where, r, secrets, rates) })

	log := logged.String()
	require.NotEmpty(t, log)
	lookFor(t, "the log", &reply{body: []byte(log), header: http.Header{}}, secrets, nil)
	me, err := sc.s.store.PersonByLogin(t.Context(), "student")
	require.NoError(t, err)
	for _, private := range []string{v.id, me.ID, "Person student", testPassword, sc.plantedID()} {
		require.NotContains(t, log, private, "the log names somebody or something")
	}
}

// playPlanted does one act of every kind; it returns how many.
func playPlanted(v *visit) int {
	v.last = v.state().Last // the walk may have done one
	v.do(look)
	v.do(sentAct{Kind: "ask", Topic: "vomiting"})
	v.do(sentAct{Kind: "handle", How: "reassure"})
	v.do(sentAct{Kind: "examine", Step: "breathing.count"})
	v.sc.clock.Pass(30 * time.Second)
	v.do(sentAct{Kind: "lift"})
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	v.do(sentAct{Kind: "examine", Step: "stifle.palpate", Site: "right", Manner: "firm"})
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "100", Over: 15, Interpretation: "normal"})
	v.do(sentAct{Kind: "record", Region: "heart", Value: "normal"})
	v.do(sentAct{Kind: "wait", Seconds: 30})
	v.do(sentAct{Kind: "hint"})
	return v.last
}

// syncBuffer is a buffer that many may write to.
type syncBuffer struct {
	testClock
	b bytes.Buffer
}

func (b *syncBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}
func (b *syncBuffer) String() string { b.mu.Lock(); defer b.mu.Unlock(); return b.b.String() }

// The words of sounds leave with the grant, to the student it was given to.
func TestWordsOfSoundsLeaveWithTheGrantOnly(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	before := sc.as("student").begin(sc.plantedID())
	sc.grants("student", false, true)
	after := sc.as("student").begin(sc.plantedID())
	for _, v := range []*visit{before, after} {
		n := playPlanted(v)
		who, secrets := "student2", plantedMarks()
		if v == before {
			who = "student"
		}
		sc.walk(who, v.id, n, func(where string, r *reply) { lookFor(t, where, r, secrets, nil) })
	}
	require.Contains(t, string(after.get(after.path("")).body), markCue)
	require.NotContains(t, string(before.get(before.path("")).body), markCue)
}

// TestMediaTellOnlyWhatIsInThem: every clip has the same size whatever is in it,
// a sound has no chunks but its format and samples, a picture one constant delay.
func TestMediaTellOnlyWhatIsInThem(t *testing.T) {
	sc := planted(t)
	sizes := map[string]map[int]bool{"sound": {}, "picture": {}}
	for range 3 {
		v := sc.as("student").begin(sc.plantedID())
		v.do(sentAct{Kind: "examine", Step: "breathing.count"})
		v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
		v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "right apex"})
		for _, n := range []string{"2", "3"} {
			r := v.get(v.path("/acts/" + n + "/sound")).is(http.StatusOK)
			require.Equal(t, "bytes", r.header.Get("Accept-Ranges"))
			require.Empty(t, r.header.Get("Last-Modified"))
			sizes["sound"][len(r.body)] = true
			require.Equal(t, []string{"fmt ", "data"}, chunks(t, r.body))
			again := v.get(v.path("/acts/" + n + "/sound")).body
			require.Equal(t, r.body, again, "a player may ask for a part")
		}
		r := v.get(v.path("/acts/1/picture")).is(http.StatusOK)
		sizes["picture"][len(r.body)] = true
		pic, err := gif.DecodeAll(bytes.NewReader(r.body))
		require.NoError(t, err)
		for _, d := range pic.Delay {
			require.Equal(t, pic.Delay[0], d)
		}
		v.header = map[string]string{"Range": "bytes=100-199"}
		part := v.get(v.path("/acts/2/sound")).is(http.StatusPartialContent)
		require.Len(t, part.body, 100)
		v.header = nil
		v.get(v.path("/acts/1/sound")).problem(http.StatusNotFound, "missing")
	}
	require.Len(t, sizes["sound"], 1, "sizes differ: %v", sizes["sound"])
	require.Len(t, sizes["picture"], 1, "sizes differ: %v", sizes["picture"])
}

// chunks lists the chunks of a RIFF file.
func chunks(t testing.TB, wav []byte) []string {
	require.Equal(t, "RIFF", string(wav[:4]))
	var out []string
	for at := 12; at+8 <= len(wav); {
		out = append(out, string(wav[at:at+4]))
		at += 8 + int(binary.LittleEndian.Uint32(wav[at+4:]))
	}
	return out
}

// TestCatalogueGivesNoAnswers: no cue of a choice, no normal value, no least time.
func TestCatalogueGivesNoAnswers(t *testing.T) {
	sc := planted(t)
	body := string(sc.as("student").get("/api/v1/catalogue/dog").is(http.StatusOK).body)
	cues := 0
	for _, f := range cases.Builtin().Catalogue("dog").Fields {
		for _, ch := range f.Of {
			for _, cue := range ch.Cue {
				if len(cue) > 20 {
					cues++
					require.NotContains(t, body, cue)
				}
			}
		}
	}
	require.Greater(t, cues, 100)
	for _, word := range []string{`"normal":`, `"least"`, `"stress"`, `"reveals"`, `"cue`, `"effect"`} {
		require.NotContains(t, body, word)
	}
}

// TestStudentsDoNotSeeExamCases: a case for exams is neither listed nor started.
func TestStudentsDoNotSeeExamCases(t *testing.T) {
	sc := newSchool(t, withFiles(t, fstest.MapFS{
		"cases/exam.yaml": {Data: []byte(strings.Replace(strings.Replace(plantedCase, "use: practice", "use: exam", 1), "case: "+markCase, "case: for-exam", 1))},
	}))
	id := sc.s.opaque("for-exam")
	c := sc.as("student")
	require.NotContains(t, string(c.get("/api/v1/cases").body), id)
	c.send("POST", "/api/v1/attempts", attemptForm{Case: id}).problem(http.StatusNotFound, "missing")
	require.Contains(t, string(sc.as("instructor").get("/api/v1/cases").body), "for-exam")
	_, err := sc.s.store.Attempts(t.Context(), store.Filter{})
	require.NoError(t, err)
}

func TestStaffSeeTitlesAndBrokenFiles(t *testing.T) {
	sc := planted(t)
	var got staffAnswer
	sc.as("instructor").get("/api/v1/cases").is(http.StatusOK).into(&got)
	require.Contains(t, string(rawBody(t, got.Cases)), markTitle)
	found := false
	for _, b := range got.Broken {
		found = found || b.File == "cases/broken.yaml" && len(b.Problems) > 0 && b.Problems[0].Line > 0
	}
	require.True(t, found, "%v", got.Broken)
}

package server

import (
	"net/http"
	"strings"
	"sync"
	"testing"
	"time"

	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

var look = sentAct{Kind: "examine", Step: "distance.observe"}

func TestSameRetrySameBodyIsTheEarlierAnswer(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	body := actForm{After: 0, Retry: "first-try", Act: look}
	first := v.send("POST", v.path("/acts"), body).is(http.StatusCreated)
	v.last = 1
	v.do(sentAct{Kind: "ask", Topic: "appetite"})
	again := v.send("POST", v.path("/acts"), body).is(http.StatusCreated)
	require.JSONEq(t, string(first.body), string(again.body))
	require.Equal(t, 2, v.state().Last, "nothing was done twice")

	sc.restart() // the answer does not live in memory only
	again = v.send("POST", v.path("/acts"), body).is(http.StatusCreated)
	require.JSONEq(t, string(first.body), string(again.body))
}

func TestSameRetryOtherBodyIsRefused(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.send("POST", v.path("/acts"), actForm{After: 0, Retry: "first-try", Act: look}).is(http.StatusCreated)
	other := actForm{After: 0, Retry: "first-try", Act: sentAct{Kind: "ask", Topic: "appetite"}}
	v.send("POST", v.path("/acts"), other).problem(http.StatusUnprocessableEntity, "retry")
	moved := actForm{After: 1, Retry: "first-try", Act: look}
	v.send("POST", v.path("/acts"), moved).problem(http.StatusUnprocessableEntity, "retry")
	require.Equal(t, 1, v.state().Last)
}

func TestTakenNumberBringsTheNewerActs(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	v.do(sentAct{Kind: "ask", Topic: "appetite"})
	late := actForm{After: 0, Retry: "other-tab", Act: sentAct{Kind: "wait", Seconds: 10}}
	p := v.send("POST", v.path("/acts"), late).problem(http.StatusConflict, "taken")
	require.Equal(t, 2, *p.Last)
	require.Len(t, p.Acts, 2)
	require.Equal(t, "ask", p.Acts[1].Kind)

	ahead := actForm{After: 9, Retry: "from-nowhere", Act: look}
	p = v.send("POST", v.path("/acts"), ahead).problem(http.StatusConflict, "taken")
	require.Equal(t, 2, *p.Last)
	require.Empty(t, p.Acts)
	require.Contains(t, p.Detail, "no act 9 yet")
}

func TestTwoTabsAtOnce(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	const tabs = 8
	codes := make([]int, tabs)
	var all sync.WaitGroup
	for i := range tabs {
		all.Go(func() {
			codes[i] = v.send("POST", v.path("/acts"), actForm{After: 0, Retry: "tab-000" + string(rune('0'+i)), Act: look}).code
		})
	}
	all.Wait()
	count := map[int]int{}
	for _, code := range codes {
		count[code]++
	}
	require.Equal(t, map[int]int{http.StatusCreated: 1, http.StatusConflict: tabs - 1}, count)
	require.Equal(t, 1, v.state().Last)
}

func TestServerClockBoundsContact(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	listen := sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"}
	open := v.do(listen)
	require.Equal(t, 1, open.Contact)
	sc.clock.Pass(7 * time.Second)
	lift := v.do(sentAct{Kind: "lift", Of: 1, Seconds: 60})
	require.Equal(t, 7, lift.Act.Seconds, "a client cannot claim more than the clock")
	require.Zero(t, lift.Contact)

	v.do(listen)
	sc.clock.Pass(20 * time.Second)
	require.Equal(t, 15, v.do(sentAct{Kind: "lift", Of: 3, Seconds: 15}).Act.Seconds, "it may claim less")

	p := v.try(sentAct{Kind: "lift"}).problem(http.StatusUnprocessableEntity, "invalid")
	require.Equal(t, "/act/of", p.Errors[0].Pointer)

	p = v.try(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex", Seconds: 60}).problem(http.StatusUnprocessableEntity, "invalid")
	require.Equal(t, "/act/seconds", p.Errors[0].Pointer)

	v.do(listen)
	sc.clock.Pass(10 * time.Minute)
	before := v.state().Clock
	after := v.do(sentAct{Kind: "hint"}).Clock
	require.LessOrEqual(t, after-before, longestContact, "who is called away does not wear the animal down")
}

func TestContactSurvivesRestart(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	sc.restart()
	sc.clock.Pass(9 * time.Second)
	require.Equal(t, 1, v.state().Contact)
	require.Equal(t, 9, v.do(sentAct{Kind: "lift"}).Act.Seconds)
}

func TestRestartGoesOnWhereItWas(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "130", Over: 15, Interpretation: "high"})
	before := v.state()
	sound := v.get(v.path("/acts/2/sound")).is(http.StatusOK).body
	sc.restart()
	require.Equal(t, before, v.state())
	require.Equal(t, sound, v.get(v.path("/acts/2/sound")).is(http.StatusOK).body, "the same patient, the same clip")
}

// TestBadActs: each is refused with a clear error, and nothing saved is lost.
func TestBadActs(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	v.do(look)
	v.do(sentAct{Kind: "record", Field: "mentation", Value: "bright"})
	before := v.state()
	for _, bad := range []struct {
		name, act, pointer string
	}{
		{"unknown kind", `{"kind":"operate"}`, "/act/kind"},
		{"reserved kind", `{"kind":"rate","value":"5"}`, "/act/kind"},
		{"unknown step", `{"kind":"examine","step":"wing.flap"}`, "/act/step"},
		{"step of another sex", `{"kind":"examine","step":"testes.palpate"}`, "/act/step"},
		{"no site", `{"kind":"examine","step":"heart.auscultate"}`, "/act/site"},
		{"unknown site", `{"kind":"examine","step":"heart.auscultate","site":"left elbow"}`, "/act/site"},
		{"unknown manner", `{"kind":"examine","step":"heart.auscultate","site":"left apex","manner":"rough"}`, "/act/manner"},
		{"commas in a number", `{"kind":"record","field":"temperature","value":"38,5,1"}`, "/act/value"},
		{"a unit in a number", `{"kind":"record","field":"heart.rate","value":"120 furlongs"}`, "/act/value"},
		{"not a choice", `{"kind":"record","field":"mentation","value":"purple"}`, "/act/value"},
		{"unknown field", `{"kind":"record","field":"aura","value":"x"}`, "/act/field"},
		{"not examined without a reason", `{"kind":"record","field":"mentation","value":"not examined"}`, "/act/reason"},
		{"a rest that is not normal", `{"kind":"record","region":"heart","value":"odd"}`, "/act/value"},
		{"interpretation", `{"kind":"record","field":"heart.rate","value":"120","interpretation":"fast"}`, "/act/interpretation"},
		{"unknown topic", `{"kind":"ask","topic":"horoscope"}`, "/act/topic"},
		{"unknown handling", `{"kind":"handle","how":"shout"}`, "/act/how"},
		{"a wait without length", `{"kind":"wait"}`, "/act/seconds"},
		{"a wait of a year", `{"kind":"wait","seconds":31536000}`, "/act/seconds"},
		{"unknown problem", `{"kind":"conclude","problems":["boredom"],"urgency":"routine"}`, "/act/problems"},
		{"no urgency", `{"kind":"conclude"}`, "/act/urgency"},
		{"a member of another kind", `{"kind":"ask","topic":"appetite","step":"heart.auscultate"}`, "/act/step"},
		{"another number", `{"n":7,"kind":"hint"}`, "/act/n"},
	} {
		t.Run(bad.name, func(t *testing.T) {
			sc.t = t
			body := `{"after":2,"retry":"retry-000003","act":` + bad.act + `}`
			p := v.send("POST", v.path("/acts"), body).problem(http.StatusUnprocessableEntity, "invalid")
			require.NotEmpty(t, p.Errors)
			require.Equal(t, bad.pointer, p.Errors[0].Pointer)
			require.Greater(t, len(p.Errors[0].Detail), 10, "it says what would be right: %q", p.Errors[0].Detail)
		})
	}
	sc.t = t
	require.Equal(t, before, v.state(), "nothing saved is lost")
}

// TestBadBodies are refused before anything is done, each with its place.
func TestBadBodies(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	const good = `"after":0,"retry":"retry-000001","act":{"kind":"hint"}`
	for _, bad := range []struct {
		name, body, says string
		code             int
		slug             string
	}{
		{"empty", " ", "empty", 400, "unreadable"},
		{"not JSON", "{after:0}", "line 1, column 2", 400, "unreadable"},
		{"cut off", "{\"after\":0,\n\"re", "line 2", 400, "unreadable"},
		{"unknown member", `{` + good + `,"hint":true}`, "not known here", 400, "unreadable"},
		{"held is the server's", `{"after":0,"retry":"retry-000001","act":{"kind":"hint","held":60}}`, "not known here", 400, "unreadable"},
		{"another letter case", `{"After":0,"retry":"retry-000001","act":{"kind":"hint"}}`, "not known here", 400, "unreadable"},
		{"a member twice", `{"after":0,"after":0,"retry":"retry-000001","act":{"kind":"hint"}}`, "twice", 400, "unreadable"},
		{"invalid UTF-8", "{\"after\":0,\"retry\":\"retry-000001\",\"act\":{\"kind\":\"hi\xff\"}}", "UTF-8", 400, "unreadable"},
		{"two objects", `{` + good + `}{}`, "after the object", 400, "unreadable"},
		{"deep", strings.Repeat(`{"act":`, 40) + "1" + strings.Repeat("}", 40), "nested deeper", 400, "unreadable"},
		{"an array", `[1]`, "expected", 400, "unreadable"},
		{"a number as text", `{"after":"0","retry":"retry-000001","act":{"kind":"hint"}}`, "whole number", 400, "unreadable"},
		{"a fraction", `{"after":0.5,"retry":"retry-000001","act":{"kind":"hint"}}`, "whole number", 400, "unreadable"},
		{"too large a number", `{"after":99999999999999999999,"retry":"retry-000001","act":{"kind":"hint"}}`, "whole number", 400, "unreadable"},
		{"a short retry", `{"after":0,"retry":"x","act":{"kind":"hint"}}`, "as it stands", 422, "invalid"},
		{"before the first", `{"after":-1,"retry":"retry-000001","act":{"kind":"hint"}}`, "as it stands", 422, "invalid"},
		{"10 MB", `{"after":0,"x":"` + strings.Repeat("x", 10<<20) + `"}`, "At most 16384 bytes", 413, "too-large"},
	} {
		t.Run(bad.name, func(t *testing.T) {
			sc.t = t
			p := v.send("POST", v.path("/acts"), bad.body).problem(bad.code, bad.slug)
			require.Contains(t, p.Detail, bad.says)
		})
	}
	sc.t = t
	v.header = map[string]string{"Content-Type": "text/plain"}
	v.send("POST", v.path("/acts"), `{`+good+`}`).problem(http.StatusUnsupportedMediaType, "content-type")
	v.header = nil
	require.Zero(t, v.state().Last)
}

func TestNoActAfterTheEnd(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	left := sc.as("student").begin(sc.plantedID())
	left.do(look)
	left.finish()
	left.try(look).problem(http.StatusConflict, "over")
	again := left.send("POST", left.path("/acts"), actForm{After: 0, Retry: retryFor(1), Act: look})
	again.is(http.StatusCreated) // the answer of an act may have got lost on the way

	concluded := sc.as("student").begin(sc.plantedID())
	concluded.do(look)
	got := concluded.do(sentAct{Kind: "conclude", Problems: []string{"osteoarthritis"}, Urgency: "routine"})
	require.Equal(t, "concluded", got.Ended)
	concluded.try(look).problem(http.StatusConflict, "over")
	require.NotEqual(t, "open", concluded.state().State, "a conclusion hands the visit in")
	require.Equal(t, "concluded", concluded.finish().Ended)
	concluded.send("POST", concluded.path("/finish"), nil).is(http.StatusAccepted)
}

func TestSheetSweepAndOpenLines(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	got := v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	require.NotEmpty(t, got.Examined)
	require.Contains(t, got.Examined, face.Place{Field: "heart.rhythm"})

	var sw face.Sweep
	v.get(v.path("/sweep/heart")).is(http.StatusOK).into(&sw)
	require.Equal(t, "heart", sw.Region)
	require.NotEmpty(t, append(append(sw.States, sw.Unexamined...), sw.Each...))
	v.get(v.path("/sweep/wing")).problem(http.StatusNotFound, "missing")

	got = v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "128", Over: 15, Interpretation: "high"})
	require.Equal(t, "128", got.Sheet[0].Value)
	got = v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "132", Over: 15, Interpretation: "high"})
	require.Len(t, got.Sheet, 1, "the last record counts")
	got = v.do(sentAct{Kind: "record", Field: "heart.rate"})
	require.NotContains(t, got.Sheet, "132", "an empty value withdraws")
}

func TestTypedLine(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	c := sc.as("student")
	var got lineAnswer
	c.get("/api/v1/catalogue/dog/line?text=auscultate+left+apex").is(http.StatusOK).into(&got)
	require.Equal(t, []sentAct{{Kind: "examine", Step: "heart.auscultate", Site: "left apex"}}, got.Acts)
	c.get("/api/v1/catalogue/dog/line?text=HR+24x4").is(http.StatusOK).into(&got)
	require.Equal(t, "96", got.Acts[0].Value)
	require.Equal(t, 15, got.Acts[0].Over)
	p := c.get("/api/v1/catalogue/dog/line?text=frobnicate+the+dog").problem(http.StatusUnprocessableEntity, "invalid")
	require.Equal(t, "/text", p.Errors[0].Pointer)
	c.get("/api/v1/catalogue/unicorn/line?text=x").problem(http.StatusNotFound, "missing")
	c.get("/api/v1/catalogue/dog/line?text="+strings.Repeat("x", 600)).problem(http.StatusUnprocessableEntity, "invalid")
}

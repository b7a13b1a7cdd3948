package server

import (
	"bytes"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"dewclaw/cases/senses"
	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

var checkToken = regexp.MustCompile(`name="token" value="([^"]+)"`)

// tokenOf is the token of the check on a page.
func tokenOf(t testing.TB, r *reply) string {
	t.Helper()
	m := checkToken.FindSubmatch(r.body)
	require.Len(t, m, 2, "%s", r.body)
	return string(m[1])
}

// check opens the page, and asks the server's own draw what is right.
func (c *client) check() (token string, drawn soundCheck) {
	c.sc.t.Helper()
	token = tokenOf(c.sc.t, c.get("/soundcheck").is(http.StatusOK))
	ses, err := c.sc.s.tokens.Read(auth.ForBrowser, c.cookie)
	require.NoError(c.sc.t, err)
	row, err := c.sc.s.store.Session(c.sc.t.Context(), ses)
	require.NoError(c.sc.t, err)
	who, err := c.sc.s.store.Person(c.sc.t.Context(), row.Person)
	require.NoError(c.sc.t, err)
	drawn, err = c.sc.s.checkOf(facePerson(who), token)
	require.NoError(c.sc.t, err)
	return token, drawn
}

// answered sends an answer.
func (c *client) answered(token string, beats int, deep string) *reply {
	return c.post("/soundcheck", "token", token, "beats", strconv.Itoa(beats), "deep", deep)
}

// other is the clip that holds no deep hum.
func (c soundCheck) other() string {
	return map[string]string{clipFirst: clipSecond, clipSecond: clipFirst}[c.deep]
}

func TestSoundCheckIsJudgedOnTheServer(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("student")
	passed := func() time.Time {
		p, err := sc.s.store.Person(t.Context(), sc.idOf("student"))
		require.NoError(t, err)
		return p.CheckPassed
	}
	for _, row := range []struct {
		name string
		off  int
		deep func(soundCheck) string
		says []string
	}{
		{"one too few", -1, func(d soundCheck) string { return d.deep }, []string{"Not passed this time", "one was missed or counted twice", "You told the deep hum, of 80 Hz"}},
		{"far too few", -6, func(d soundCheck) string { return d.deep }, []string{"Not passed this time", "Turn the sound up"}},
		{"the wrong hum", 0, soundCheck.other, []string{"Not passed this time", "You counted all", "was the other one", "Try other headphones", "ask an instructor for sounds as a trace"}},
		{"no difference", 0, func(soundCheck) string { return checkAlike }, []string{"Not passed this time", "Both hums sounded alike", "Try other headphones"}},
	} {
		sc.clock.Pass(time.Second)
		token, drawn := c.check()
		page := string(c.answered(token, drawn.beats+row.off, row.deep(drawn)).is(http.StatusOK).body)
		for _, text := range row.says {
			require.Contains(t, page, text, row.name)
		}
		require.True(t, passed().IsZero(), row.name)
		c.answered(token, drawn.beats, drawn.deep).is(http.StatusConflict)
		require.True(t, passed().IsZero(), "%s: what was answered cannot be answered again", row.name)
	}
	sc.clock.Pass(time.Second)
	token, drawn := c.check()
	page := c.answered(token, drawn.beats, drawn.deep).is(http.StatusOK)
	require.Contains(t, string(page.body), "✓ Passed")
	require.NotEqual(t, token, tokenOf(t, page), "the next one is drawn anew")
	require.Equal(t, sc.clock.Now(), passed())

	at := passed()
	sc.clock.Pass(time.Hour)
	token, drawn = c.check()
	c.answered(token, drawn.beats-5, drawn.other()).is(http.StatusOK)
	require.Equal(t, at, passed(), "failing later takes nothing away")
	var list peopleAnswer
	sc.as("instructor").get("/api/v1/people").is(http.StatusOK).into(&list)
	for _, row := range list.People {
		require.Equal(t, row.Login == "student", row.SoundCheck != nil)
	}
	require.Contains(t, string(sc.browser("instructor").get("/people").body), sc.s.day(at))
}

func TestSoundCheckTakesNoOtherToken(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c, other := sc.browser("student"), sc.browser("student2")
	token, drawn := c.check()
	clipPath := "/soundcheck/" + token + "/beats"
	c.get(clipPath).is(http.StatusOK)
	c.get("/soundcheck/" + token + "/third").is(http.StatusNotFound)
	other.get(clipPath).is(http.StatusNotFound)
	sc.anyone().get(clipPath).is(http.StatusSeeOther)
	require.Contains(t, string(other.answered(token, drawn.beats, drawn.deep).is(http.StatusUnprocessableEntity).body), "not made for you")
	flipped := token[:len(token)-2] + map[bool]string{true: "A", false: "B"}[token[len(token)-2] != 'A'] + token[len(token)-1:]
	for _, bad := range []string{"", "x", strings.ToLower(token), token + "A", flipped, "../" + token} {
		c.answered(bad, drawn.beats, drawn.deep).is(http.StatusUnprocessableEntity)
		if bad != "" && !strings.Contains(bad, "/") {
			c.get("/soundcheck/" + bad + "/beats").is(http.StatusNotFound)
		}
	}
	for _, bad := range [][2]string{{"", drawn.deep}, {"many", drawn.deep}, {"-1", drawn.deep}, {"100", drawn.deep}, {"12", ""}, {"12", "third"}} {
		page := c.post("/soundcheck", "token", token, "beats", bad[0], "deep", bad[1]).is(http.StatusUnprocessableEntity)
		require.Equal(t, token, tokenOf(t, page), "the same clips go on: %v", bad)
	}
	sc.clock.Pass(checkFor + time.Second)
	c.get(clipPath).is(http.StatusNotFound)
	require.Contains(t, string(c.answered(token, drawn.beats, drawn.deep).is(http.StatusUnprocessableEntity).body), "over half an hour old")
}

// What is drawn is spread evenly enough that nobody knows it beforehand, and
// nothing but the sound itself tells it: not a name, a length, a header, the token.
func TestSoundCheckTellsNothingBeside(t *testing.T) {
	sc := newSchool(t)
	c := sc.browser("student")
	beats, deep := map[int]int{}, map[string]int{}
	sum := 0
	for range 700 {
		drawn := sc.s.askCheck(face.Person{ID: "somebody"})
		beats[drawn.beats]++
		deep[drawn.deep]++
		sum += drawn.beats
		for _, word := range []string{clipFirst, clipSecond, strconv.Itoa(drawn.beats)} {
			require.NotEqual(t, word, drawn.token)
		}
	}
	require.Len(t, beats, senses.MostBeats-senses.LeastBeats+1)
	for n, times := range beats {
		require.InDelta(t, 100, times, 50, "%d beats", n) // five standard deviations and more: derived
	}
	require.InDelta(t, 350, deep[clipFirst], 70)
	require.InDelta(t, 12, float64(sum)/700, .4)

	var heads []string
	for range 8 {
		sc.clock.Pass(time.Second)
		token, drawn := c.check()
		page := c.get("/soundcheck").body
		require.False(t, bytes.Contains(page, []byte(strconv.Itoa(drawn.beats)+" beats")))
		for _, name := range []string{clipBeats, drawn.deep, drawn.other()} {
			r := c.get("/soundcheck/" + token + "/" + name).is(http.StatusOK)
			r.header.Del("X-Request-Id")
			head := ""
			for _, k := range keysOf(r.header) {
				head += k + ": " + r.header.Get(k) + "\n"
			}
			heads = append(heads, head+strconv.Itoa(len(r.body))+string(r.body[:44]))
			require.Equal(t, "no-store", r.header.Get("Cache-Control"))
			require.Empty(t, r.header.Get("ETag")+r.header.Get("Last-Modified"))
			require.Equal(t, []string{"fmt ", "data"}, chunks(t, r.body))
			require.Equal(t, r.body, c.get("/soundcheck/"+token+"/"+name).body, "a player may ask for a part")
		}
	}
	require.Len(t, slices.Compact(heads), 1, "length and headers are those of every clip")
}

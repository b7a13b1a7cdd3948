package server

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/cases/drill"
	"dewclaw/server/exam"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
)

// drilled is a drill through the API.
type drilled struct {
	*client
	face.Drill
}

func (c *client) drill(kind, species string) *drilled {
	c.sc.t.Helper()
	d := &drilled{client: c}
	c.send("POST", "/api/v1/drills", drillStart{kind, species}).is(http.StatusCreated).into(&d.Drill)
	return d
}

func (d *drilled) path(rest string) string { return "/api/v1/drills/" + d.ID + rest }

func (d *drilled) take(r *reply) *drilled {
	d.sc.t.Helper()
	d.Drill = face.Drill{}
	r.is(http.StatusOK).into(&d.Drill)
	return d
}

func (d *drilled) last() face.DrillItem { return d.Items[len(d.Items)-1] }

func (d *drilled) item(rest string, body any) *reply {
	d.sc.t.Helper()
	return d.send("POST", d.path("/items/"+strconv.Itoa(d.last().N)+rest), body)
}

func (d *drilled) deed(deed string) *reply {
	d.sc.t.Helper()
	return d.send("POST", d.path(""), drillDeedForm{deed, d.last().N})
}

// truth is the answer of the newest item: as a choice or a number.
func (d *drilled) truth() string { return d.truthOf(d.sc.idOf("student")) }

// truthOf is truth where it is this person's drill.
func (d *drilled) truthOf(person string) string {
	d.sc.t.Helper()
	it := d.sc.hiddenItem(person, d.ID, d.last().N)
	for _, c := range it.Face().Choices {
		if res, err := it.Answer(drill.Answer{Value: c.ID}); err == nil && res.Right {
			return c.ID
		}
	}
	for n := range 400 {
		if res, err := it.Answer(drill.Answer{Value: strconv.Itoa(n)}); err == nil && res.Right {
			return strconv.Itoa(n)
		}
	}
	d.sc.t.Fatal("no answer is right")
	return ""
}

// hiddenItem is an item as the server keeps it.
func (sc *school) hiddenItem(person, id string, n int) drill.Item {
	sc.t.Helper()
	_, items, err := sc.s.store.OwnDrill(context.Background(), person, id)
	require.NoError(sc.t, err)
	it, err := drill.Decode(sc.s.library, items[n-1].Item)
	require.NoError(sc.t, err)
	return it
}

// A drill goes from item to item, each marked at once; the same answer twice
// counts once, and to go on twice goes on once.
func TestADrillIsMarkedAtOnce(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	d := sc.as("student").drill("murmurs", "dog")
	require.Equal(t, []int{6, 0}, []int{d.Of, d.Marked})
	for i := 1; i <= d.Of; i++ {
		require.Equal(t, i, d.last().N)
		require.NotNil(t, d.last().Ask)
		require.Nil(t, d.last().Told)
		d.deed("next").problem(http.StatusConflict, "not-now")
		if i == 2 {
			d.item("", drillAnswerForm{Value: "nonsense"}).problem(http.StatusUnprocessableEntity, "invalid")
		}
		answer := d.truth()
		for _, c := range d.last().Ask.Choices {
			if i == 3 && c.ID != d.truth() {
				answer = c.ID
			}
		}
		d.take(d.item("", drillAnswerForm{Value: answer, Sure: "sure"}))
		require.Equal(t, i != 3, d.last().Told.Right)
		require.NotEmpty(t, d.last().Told.Reason)
		require.Equal(t, 95, d.last().Told.Sure)
		d.item("", drillAnswerForm{Value: answer}).problem(http.StatusConflict, "not-now")
		d.item("/void", drillVoidForm{voidStalled}).problem(http.StatusConflict, "not-now")
		n := d.last().N
		d.take(d.deed("next"))
		d.take(d.send("POST", d.path(""), drillDeedForm{"next", n}))
	}
	require.NotNil(t, d.Ended)
	require.Equal(t, []int{6, 5, 0}, []int{d.Marked, d.Right, d.Void})
	d.item("", drillAnswerForm{Value: "none"}).problem(http.StatusConflict, "not-now")

	marked, err := sc.s.store.ItemsOf(t.Context(), sc.idOf("student"), store.ItemMarked)
	require.NoError(t, err)
	require.Len(t, marked, 6)
	for _, it := range marked {
		require.Equal(t, "heart", it.Skill)
		require.Contains(t, string(it.Acts), `"examine"`)
		require.NotContains(t, string(it.Acts), "outcome")
	}
	var all drillsAnswer
	d.get("/api/v1/drills").is(http.StatusOK).into(&all)
	require.Equal(t, d.ID, all.Drills[0].ID)
	for _, k := range all.Kinds {
		require.Equal(t, k.ID == "murmurs", k.Last != nil, k.ID)
		require.NotEmpty(t, k.Species)
	}
}

// What cannot be answered is void, not wrong, and another item takes its place.
func TestWhatCannotBeAnsweredIsVoid(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	d := sc.at("student").drill("breathing-rates", "") // a program's token would expire
	for _, why := range []string{voidStalled, voidSlept} {
		d.item("/void", drillVoidForm{"bored"}).problem(http.StatusUnprocessableEntity, "invalid")
		d.take(d.item("/void", drillVoidForm{why}))
		require.Equal(t, []string{store.ItemVoid, why}, []string{d.last().State, d.last().Why})
		require.Nil(t, d.last().Ask)
		d.item("", drillAnswerForm{Value: "20"}).problem(http.StatusConflict, "not-now")
		d.take(d.deed("next"))
	}
	// Left for over a quarter of an hour: void whether or not an answer comes.
	sc.clock.Pass(leftAfter + time.Second)
	d.take(d.get(d.path("")))
	require.Equal(t, []string{store.ItemVoid, voidLeft}, []string{d.last().State, d.last().Why})
	d.take(d.item("", drillAnswerForm{Value: d.truth()}))
	require.Equal(t, store.ItemVoid, d.last().State)
	d.take(d.deed("next"))
	sc.clock.Pass(leftAfter + time.Second)
	d.take(d.deed("next"))
	require.Equal(t, []int{4, 0, 5}, []int{d.Void, d.Marked, d.last().N})
	for range 4 { // it ends when twice its items were asked
		d.take(d.item("/void", drillVoidForm{voidStalled}))
		d.take(d.deed("next"))
	}
	require.NotNil(t, d.Ended)
	require.Zero(t, d.Marked)
	require.Equal(t, "Nothing was answered, so there is nothing to say yet.", drillEndOf(d.Drill).Says[0])
	require.Contains(t, drillEndOf(d.Drill).Says[1], "8 items do not count")
}

// The second device takes over and goes on with the same item; the first is told.
func TestTwoDevicesDrill(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	d := sc.as("student").drill("heart-rates", "cat")
	phone := &drilled{client: sc.as("student"), Drill: d.Drill}
	require.False(t, phone.take(phone.get(phone.path(""))).Here)
	phone.item("", drillAnswerForm{Value: "100"}).problem(http.StatusConflict, "elsewhere")
	phone.take(phone.deed("here"))
	require.True(t, phone.Here)
	d.item("", drillAnswerForm{Value: "100"}).problem(http.StatusConflict, "elsewhere")
	d.item("/void", drillVoidForm{voidLeft}).problem(http.StatusConflict, "elsewhere")
	phone.take(phone.item("", drillAnswerForm{Value: phone.truth(), Over: 10}))
	require.Equal(t, []int{1, 1}, []int{phone.Marked, phone.Right})
	require.Contains(t, phone.last().Told.Said, "/min, counted over 10 s")
	d.deed("next").problem(http.StatusConflict, "elsewhere")

	// To begin another ends this one, and what waited there never counts.
	phone.take(phone.deed("next"))
	next := phone.drill("lung-fields", "dog")
	phone.take(phone.get(phone.path("")))
	require.NotNil(t, phone.Ended)
	require.Equal(t, []int{1, 1}, []int{phone.Marked, phone.Void})
	next.take(next.deed("end"))
	require.NotNil(t, next.Ended)
	next.deed("dance").problem(http.StatusUnprocessableEntity, "invalid")
}

// Another's drill is as absent as one that never was, its sounds too.
func TestADrillIsNobodyElses(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	d := sc.as("student").drill("heart-rates", "dog")
	for _, login := range []string{"student2", "instructor", "coordinator"} {
		c := sc.as(login)
		c.get(d.path("")).problem(http.StatusNotFound, "missing")
		c.get(d.path("/items/1/sound")).problem(http.StatusNotFound, "missing")
		c.send("POST", d.path("/items/1"), drillAnswerForm{Value: "100"}).problem(http.StatusNotFound, "missing")
		c.send("POST", d.path(""), drillDeedForm{"here", 1}).problem(http.StatusNotFound, "missing")
	}
	d.send("POST", "/api/v1/drills", drillStart{"juggling", ""}).problem(http.StatusUnprocessableEntity, "invalid")
	d.send("POST", "/api/v1/drills", drillStart{"heart-rates", "zebra"}).problem(http.StatusUnprocessableEntity, "invalid")
}

// An item waits with all that is hidden on the server; its sound is the same at
// every request and of a length that says nothing.
func TestAnItemTellsNothingBeforeItsAnswer(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	for _, kind := range []string{"murmurs", "condition", "which-limb"} {
		d := sc.as("student").drill(kind, "dog")
		it := sc.hiddenItem(sc.idOf("student"), d.ID, 1)
		for _, path := range []string{d.path(""), "/drills/" + d.ID} {
			body := string(d.get(path).is(http.StatusOK).body)
			require.NotContains(t, body, string(it.Encode()))
			require.NotContains(t, body, it.Past())
			require.NotContains(t, body, `"told"`)
		}
		medium := "/items/1/" + d.last().Ask.Sense
		got := d.get(d.path(medium)).is(http.StatusOK)
		require.Equal(t, got.body, d.get("/drills/"+d.ID+medium+"?which=0").is(http.StatusOK).body)
		require.Equal(t, "no-store", got.header.Get("Cache-Control"))
		require.Empty(t, got.header.Get("ETag"))
		for _, path := range []string{medium + "?which=31", medium + "?which=-1", medium + "?which=x", "/items/2/sound", "/items/x/sound"} {
			d.get(d.path(path)).problem(http.StatusNotFound, "missing")
		}
		d.take(d.item("/void", drillVoidForm{voidStalled}))
		d.get(d.path(medium)).problem(http.StatusNotFound, "missing")
	}
}

// In a sitting that runs there are no drills; before and after there are.
func TestNoDrillsInASitting(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.at("student")
	d := c.drill("heart-rates", "dog")
	k, _ := sc.begun(c, sc.sat())
	for _, path := range []string{"/drills", "/drills/" + d.ID, "/drills/" + d.ID + "/items/1/sound"} {
		require.Contains(t, string(c.get(path).is(http.StatusConflict).body), "until it is over")
	}
	sc.as("student").send("POST", "/api/v1/drills", drillStart{Kind: "heart-rates"}).problem(http.StatusConflict, "not-now")
	d.item("", drillAnswerForm{Value: "100"}).problem(http.StatusConflict, "not-now")
	d.deed("next").problem(http.StatusConflict, "not-now")
	sc.as("student2").drill("heart-rates", "dog")
	require.NotEqual(t, string(exam.Over), k.Phase)
	sc.clock.Pass(4 * time.Hour)
	require.NoError(t, sc.s.closeOverdue(t.Context()))
	sc.at("student").drill("heart-rates", "dog")
}

// Whoever is given sounds in words or as a trace has them in drills too, and is
// not asked how loud something is.
func TestGrantedSoundsHoldInDrills(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.grants("student", true, true)
	c := sc.at("student")
	refused := c.send("POST", "/api/v1/drills", drillStart{"grade-3-or-4", "dog"}).problem(http.StatusUnprocessableEntity, "invalid")
	require.Contains(t, refused.Errors[0].Detail, "how loud")
	d := c.drill("lung-fields", "dog")
	for _, clip := range d.last().Ask.Clips {
		require.NotEmpty(t, clip.Words)
	}
	body := string(c.get("/drills/" + d.ID).is(http.StatusOK).body)
	require.Contains(t, body, "data-traced")
	require.Contains(t, body, "n words</span>")
	d = c.drill("murmurs", "dog")
	for range d.Of {
		require.NotContains(t, d.last().Ask.Words, "How loud")
		d.take(d.item("", drillAnswerForm{Value: d.truth()}))
		d.take(d.deed("next"))
	}
	plain := sc.as("student2").drill("lung-fields", "dog")
	for _, clip := range plain.last().Ask.Clips {
		require.Empty(t, clip.Words)
	}
}

// drillPost sends a form of the pages.
func (c *client) drillPost(path string, f url.Values) *reply {
	c.header = map[string]string{"Content-Type": "application/x-www-form-urlencoded"}
	defer func() { c.header = nil }()
	return c.send("POST", path, f.Encode())
}

// The pages go the same road by forms alone: a plain player, radio buttons, a
// count that is reckoned to a minute, and what was typed is kept where it is wrong.
func TestADrillByFormsAlone(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.at("student")
	require.Contains(t, string(c.get("/drills").is(http.StatusOK).body), "Ten heart rates")
	require.Contains(t, string(c.drillPost("/drills", url.Values{"kind": {"heart-rates"}, "species": {"zebra"}}).is(http.StatusUnprocessableEntity).body), "there is one in")
	at := c.drillPost("/drills", url.Values{"kind": {"heart-rates"}, "species": {"horse"}}).is(http.StatusSeeOther).header.Get("Location")
	body := string(c.get(at).is(http.StatusOK).body)
	require.Contains(t, body, "<audio controls")
	require.Contains(t, body, `value="10" required checked`)
	wrong := string(c.drillPost(at+"/items/1", url.Values{"count": {"many"}, "over": {"10"}}).is(http.StatusUnprocessableEntity).body)
	require.Contains(t, wrong, "Write how many you counted")
	require.Contains(t, wrong, `value="many"`)
	c.drillPost(at+"/items/1", url.Values{"count": {"7"}, "over": {"10"}, "sure": {"guess"}}).is(http.StatusSeeOther)
	body = string(c.get(at).is(http.StatusOK).body)
	require.Regexp(t, `you said 42/min`, body)
	require.Contains(t, body, "<audio controls", "it can be heard again")
	again := string(c.drillPost(at+"/items/1", url.Values{"count": {"8"}, "over": {"10"}}).is(http.StatusConflict).body)
	require.Regexp(t, `you said 42/min`, again, "the first stands")
	c.drillPost(at, url.Values{"deed": {"next"}, "n": {"1"}}).is(http.StatusSeeOther)
	require.Contains(t, string(c.get(at).body), "2 of 10")
	c.drillPost(at+"/items/2/void", url.Values{"why": {"stalled"}}).is(http.StatusSeeOther)
	require.Contains(t, string(c.get(at).body), "neither right nor wrong")
	require.Contains(t, string(sc.at("student").get(at).body), "open on another device")
	require.Contains(t, string(c.get("/drills").body), "Go on with it")
	c.drillPost(at, url.Values{"deed": {"end"}}).is(http.StatusSeeOther)
	body = string(c.get(at).is(http.StatusOK).body)
	require.Contains(t, body, "1 item does not count")
	require.NotContains(t, strings.ToLower(body), "score")
}

// An item that the library can no longer make is void; what was told is still told.
func TestAnItemOfAnOlderLibraryIsVoid(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c := sc.as("student")
	row, err := sc.s.store.BeginDrill(t.Context(), store.Drill{Person: sc.idOf("student"), Kind: "heart-rates", Species: cases.Builtin().Species()[0]},
		store.DrillItem{Item: store.Hidden("{}"), Kind: "heart-rates", Species: "dog", Skill: "rates"})
	require.NoError(t, err)
	d := &drilled{client: c, Drill: face.Drill{ID: row.ID}}
	d.take(c.get(d.path("")))
	d.take(d.deed("here"))
	require.Equal(t, store.ItemVoid, d.last().State)
	d.take(d.item("", drillAnswerForm{Value: "100"}))
	d.take(d.deed("next"))
	require.Equal(t, []int{2, 1}, []int{d.last().N, d.Void})
	require.NotNil(t, d.last().Ask)
}

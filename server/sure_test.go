package server

import (
	"net/http"
	"strings"
	"testing"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/server/store/storetest"

	"github.com/stretchr/testify/require"
)

// heartRecord charts a heart rate that no dog has, so that it is wrong.
func heartRecord(sure string) sentAct {
	return sentAct{Kind: "record", Field: "heart.rate", Value: "20", Over: 15, Interpretation: "low", Sure: sure}
}

// listened begins a practice visit in which the heart was heard, and charted so.
func (sc *school) listened(login, sure string) *visit {
	v := sc.as(login).begin(dogOf(sc, casesAnswer{sc.casesFor(login)}))
	v.do(sentAct{Kind: "examine", Step: "distance.observe"})
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	sc.clock.Pass(20e9)
	v.do(sentAct{Kind: "lift"})
	v.do(heartRecord(sure))
	return v
}

func (sc *school) casesFor(login string) []face.Patient {
	var list casesAnswer
	sc.as(login).get("/api/v1/cases").is(http.StatusOK).into(&list)
	return list.Cases
}

// TestSureStandsOnTheSheet: said with the entry or later, it stands on the line;
// a new value takes it off, and an open contact goes on.
func TestSureStandsOnTheSheet(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.listened("student", "sure")
	require.True(t, v.state().AsksSure)
	require.Equal(t, "sure", v.state().Sheet[0].Sure)
	changed := heartRecord("")
	changed.Value = "96"
	a := v.do(changed)
	require.Empty(t, a.Sheet[0].Sure, "it was of the other value")

	open := v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left base"})
	require.NotZero(t, open.Contact)
	of := sentAct{Kind: "record", Field: "heart.rate", Value: "96", Of: a.Last, Sure: "guess"}
	said := v.do(of)
	require.Equal(t, open.Contact, said.Contact, "one goes on listening")
	require.Equal(t, "guess", said.Sheet[0].Sure)
	require.Equal(t, a.Sheet[0].Act, said.Sheet[0].Act, "nothing was charted anew")
	require.Equal(t, "low", said.Sheet[0].Interpretation)

	for name, bad := range map[string]sentAct{
		"another value":         {Kind: "record", Field: "heart.rate", Value: "100", Of: a.Last, Sure: "guess"},
		"an act that is older":  {Kind: "record", Field: "heart.rate", Value: "96", Of: 4, Sure: "guess"},
		"no such word":          {Kind: "record", Field: "heart.rate", Value: "96", Sure: "certain"},
		"not examined":          {Kind: "record", Field: "heart.rate", Value: rubric.NotExamined, Reason: "growled", Sure: "sure"},
		"a whole region":        {Kind: "record", Region: "heart", Value: "normal", Sure: "sure"},
		"of without sure":       {Kind: "record", Field: "heart.rate", Value: "96", Of: a.Last},
		"beside an examination": {Kind: "examine", Step: "distance.observe", Sure: "sure"},
	} {
		require.Equal(t, http.StatusUnprocessableEntity, v.try(bad).code, name)
	}
	require.Equal(t, said.Last, v.state().Last, "nothing of it was done")
}

// TestTheMarksAreTheSameWithAndWithoutSure: two visits of one patient, act for
// act the same but for how sure somebody is, have the same reports to the byte.
func TestTheMarksAreTheSameWithAndWithoutSure(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.listened("student", "sure")
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "20", Of: 4, Sure: "guess"})
	v.finish()
	row, err := sc.s.store.Attempt(t.Context(), v.id)
	require.NoError(t, err)
	key, err := rubric.DecodeKey(row.Key)
	require.NoError(t, err)
	m, err := sc.s.marked(t.Context(), row)
	require.NoError(t, err)
	list, err := sc.s.transcript(t.Context(), row)
	require.NoError(t, err)
	require.NotEmpty(t, m.report.Sure)
	plain := list[:4]
	plain[3].Act.Sure = ""
	m.report.Sure = nil
	with, err := rubric.EncodeReport(m.report)
	require.NoError(t, err)
	without, err := rubric.EncodeReport(rubric.Grade(m.scheme, key, plain))
	require.NoError(t, err)
	require.Equal(t, string(without), string(with))
}

// TestASittingDoesNotAsk: there it is refused with words, and nothing is charted.
func TestASittingDoesNotAsk(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	_, v := sc.begun(sc.as("student"), sc.sat())
	require.False(t, v.state().AsksSure)
	p := v.try(heartRecord("sure")).problem(http.StatusConflict, "not-now")
	require.Contains(t, p.Detail, "in practice only")
	require.Empty(t, v.state().Sheet)
	v.do(heartRecord(""))
	require.Len(t, v.state().Sheet, 1)
}

func TestOneCanSwitchTheAskingOff(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.listened("student", "")
	var got sureForm
	no, yes := false, true
	v.send("POST", "/api/v1/me/sure", sureForm{&no}).is(http.StatusOK).into(&got)
	require.False(t, *got.Asked)
	v.send("POST", "/api/v1/me/sure", sureForm{&no}).is(http.StatusOK)
	require.False(t, v.state().AsksSure)
	other := sc.as("student2").begin("")
	require.True(t, other.state().AsksSure, "it is everybody's own")
	v.do(heartRecord("fairly")) // who types it is not kept from it
	v.send("POST", "/api/v1/me/sure", sureForm{&yes}).is(http.StatusOK)
	require.True(t, v.state().AsksSure)
	v.send("POST", "/api/v1/me/sure", `{"asked":"no"}`).problem(http.StatusBadRequest, "unreadable")
	v.send("POST", "/api/v1/me/sure", "{}").problem(http.StatusUnprocessableEntity, "invalid")
	sc.anyone().send("POST", "/api/v1/me/sure", sureForm{&yes}).problem(http.StatusUnauthorized, "sign-in")
}

// TestTheForecastStandsBeforeTheDebrief: an own practice visit leads to it once;
// staff are not led, programs are not, and what was said stays.
func TestTheForecastStandsBeforeTheDebrief(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.listened("student", "sure")
	me, staff := sc.browser("student"), sc.browser("instructor")
	path := "/visits/" + v.id
	require.Equal(t, path, me.get(path+"/forecast").is(http.StatusSeeOther).header.Get("Location"), "not while the visit is open")
	v.get(v.path("/forecast")).problem(http.StatusConflict, "not-now")
	v.finish()
	require.Equal(t, path+"/forecast", me.get(path+"/debrief").is(http.StatusSeeOther).header.Get("Location"))
	require.Contains(t, me.get("/").text(), "the debrief is ready")
	require.NotContains(t, me.get("/").text(), "not passed")
	staff.get(path + "/debrief").is(http.StatusOK)
	staff.get(path + "/forecast").is(http.StatusNotFound)
	sc.browser("student2").get(path + "/forecast").is(http.StatusNotFound)
	staff.post(path+"/forecast", "deed", "pass").is(http.StatusNotFound)
	var f face.Forecast
	v.get(v.path("/forecast")).is(http.StatusOK).into(&f)
	require.False(t, f.Said)
	sc.as("student2").get(v.path("/forecast")).problem(http.StatusNotFound, "missing")

	page := me.get(path + "/forecast").is(http.StatusOK).text()
	require.Contains(t, page, "Heart rate: 20")
	for sent, said := range map[string]string{"120": "Findings: a whole number from 0 to 100.", "much": "Findings: a whole number", "-1": "Findings: a whole number", "": "Say what you expect of at least one domain"} {
		require.Contains(t, me.post(path+"/forecast", "deed", "say", "percent-findings", sent, "percent-order", "").is(http.StatusUnprocessableEntity).text(), said)
	}
	require.Contains(t, string(me.post(path+"/forecast", "percent-findings", "120", "percent-order", "55").body), `value="55"`, "what was typed stays")
	require.Contains(t, me.post(path+"/forecast", "percent-order", "55", "least", "mm.colour").is(http.StatusUnprocessableEntity).text(), "A line that stands on your sheet")
	v.send("POST", v.path("/forecast"), "{}").problem(http.StatusUnprocessableEntity, "invalid")
	v.send("POST", v.path("/forecast"), `{"percent":{"luck":50}}`).problem(http.StatusUnprocessableEntity, "invalid")

	me.post(path+"/forecast", "deed", "say", "percent-findings", "70", "percent-vitals", "90 %", "least", "heart.rate").is(http.StatusSeeOther)
	me.post(path+"/forecast", "deed", "say", "percent-findings", "10").is(http.StatusSeeOther) // in another tab
	v.send("POST", v.path("/forecast"), forecastForm{Percent: map[string]int{"order": 1}}).problem(http.StatusConflict, "not-now")
	v.get(v.path("/forecast")).is(http.StatusOK).into(&f)
	require.Equal(t, face.Forecast{Said: true, Percent: map[string]int{"findings": 70, "vitals": 90}, Least: &face.Place{Field: "heart.rate"}}, f)
	require.Equal(t, path, me.get(path+"/forecast").is(http.StatusSeeOther).header.Get("Location"), "it is said once")
	sc.readsSure(v, me, staff)
}

// readsSure reads the beginning of the debrief: it is for who made the visit.
func (sc *school) readsSure(v *visit, me, staff *client) {
	path := "/visits/" + v.id + "/debrief"
	v.onward()
	require.Contains(sc.t, me.get("/").text(), "not passed")
	body := string(me.get(path).is(http.StatusOK).body)
	text := me.get(path).text()
	for _, want := range []string{"Sure, and wrong", "Heart rate. You charted 20/min; it was", "You were sure of one line, and it was wrong.", "What you expected, and what came", "70 %", "You were least sure of heart rate. You charted 20/min; it was"} {
		require.Contains(sc.t, text, want)
	}
	require.Less(sc.t, strings.Index(body, "Sure, and wrong"), strings.Index(body, "What you expected"))
	require.Less(sc.t, strings.Index(body, "What you expected"), strings.Index(body, "In short"))
	require.NotContains(sc.t, string(staff.get(path).body), "Sure, and wrong")
	var theirs face.Report
	sc.as("instructor").get(v.path("/report")).is(http.StatusOK).into(&theirs)
	require.Empty(sc.t, theirs.Sure)
	require.Nil(sc.t, theirs.Forecast)
}

// TestTheForecastCanBePassedOver, and is not asked of what ended before there was one.
func TestTheForecastCanBePassedOver(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	v := sc.listened("student", "")
	v.finish()
	me, path := sc.browser("student"), "/visits/"+v.id
	me.post(path+"/forecast", "deed", "pass", "percent-order", "nonsense").is(http.StatusSeeOther)
	v.onward()
	text := me.get(path + "/debrief").is(http.StatusOK).text()
	require.NotContains(t, text, "What you expected")
	require.NotContains(t, text, "How sure you were")

	old := sc.listened("student", "")
	old.finish()
	row, err := sc.s.store.Attempt(t.Context(), old.id)
	require.NoError(t, err)
	require.NoError(t, storetest.Exec(t, sc.url(), "INSERT INTO forecasts (transcript, at, domains, least) VALUES (?, 0, '{}', '')", row.Transcript))
	me.get("/visits/" + old.id + "/debrief").is(http.StatusOK)
}

// TestTheWayAsksOnlyForPractice: a sitting's debrief opens by the release alone.
func TestTheWayAsksOnlyForPractice(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	who := face.Person{ID: "p"}
	for name, row := range map[string]store.Attempt{
		"a sitting":      {Person: "p", Purpose: forSitting, State: store.StateGraded},
		"an orientation": {Person: "p", Purpose: forOrientation, State: store.StateGraded},
		"another's":      {Person: "q", State: store.StateGraded},
		"not yet graded": {Person: "p", State: store.StateGrading},
	} {
		path, err := sc.s.wayBefore(t.Context(), who, row)
		require.NoError(t, err)
		require.Empty(t, path, name)
	}
}

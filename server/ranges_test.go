package server

import (
	"html"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/rubric/normal"
	"dewclaw/server/face"

	"github.com/stretchr/testify/require"
)

const (
	rangeColumns = "id,species,class,age_from_days,age_to_days,grams_from,grams_to,vital,unit,low,high,grey_low,grey_high,source,confidence\n"
	mediumDog    = "dog.medium.heart_rate,dog,medium,113,,10000,24999,heart_rate,/min,64,132,58,155,records of our clinic 2025,read in our records\n"
)

// layRanges writes the school's own ranges and has the files read again.
func (sc *school) layRanges(rows string) {
	sc.t.Helper()
	require.NoError(sc.t, os.WriteFile(filepath.Join(sc.cfg.Data, rangesName), []byte(rangeColumns+rows), 0o600))
	sc.as("instructor").post("/rubrics").is(http.StatusSeeOther)
}

// rubricsText is the rubrics page as it is read.
func (sc *school) rubricsText() string {
	sc.t.Helper()
	page := html.UnescapeString(string(sc.as("instructor").get("/rubrics").is(http.StatusOK).body))
	return strings.Join(strings.Fields(tags.ReplaceAllString(page, " ")), " ")
}

// pulse is the heart rate of a report.
func pulse(t *testing.T, r face.Report) face.Vital {
	t.Helper()
	for _, v := range r.Vitals {
		if v.Field == "heart.rate" {
			return v
		}
	}
	require.Fail(t, "no heart rate")
	return face.Vital{}
}

// keyedPulse is the heart rate in the key that a visit began with.
func keyedPulse(t *testing.T, key rubric.Key) rubric.Vital {
	t.Helper()
	for _, v := range key.Vitals {
		if v.Name == "heart_rate" {
			return v
		}
	}
	require.Fail(t, "no heart rate")
	return rubric.Vital{}
}

// A school's table holds for visits that begin after it was read; each visit
// keeps the one that it began with, through a restart, its debrief and a new
// marking, whatever becomes of the file.
func TestOwnRangesHoldNewVisits(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	tansy := sc.s.opaque("tansy") // 14.2 kg
	old := sc.as("student").begin(tansy)
	sc.layRanges(mediumDog + "our.whippet,dog,whippet,113,,9000,9999,heart_rate,/min,60,120,50,140,our clinic,derived\n")
	require.Contains(t, sc.rubricsText(), "It holds for new visits: 1 row replaced, 1 row added.")
	fresh := sc.as("student").begin(tansy)

	row, err := sc.s.store.Attempt(t.Context(), fresh.id)
	require.NoError(t, err)
	text, err := sc.s.store.Content(t.Context(), row.RangesHash)
	require.NoError(t, err)
	require.Equal(t, sc.s.table.Load().Text, text)
	key, err := rubric.DecodeKey(row.Key)
	require.NoError(t, err)
	v := keyedPulse(t, key)
	require.Equal(t, "dog.medium.heart_rate 64 132 58 155", strings.Join([]string{v.Row, v.Low.String(), v.High.String(), v.GreyLow.String(), v.GreyHigh.String()}, " "))

	// The file changes and then goes: nothing changes for either visit.
	sc.layRanges(strings.Replace(mediumDog, "64,132,58,155", "66,130,60,150", 1))
	require.NoError(t, os.Remove(filepath.Join(sc.cfg.Data, rangesName)))
	sc.restart()
	require.Contains(t, sc.rubricsText(), "There is no such file")
	for _, visited := range []struct {
		id, low, high, source string
		own                   bool
	}{{old.id, "70/min", "120/min", "Merck Veterinary Manual resting heart rates", false}, {fresh.id, "64/min", "132/min", "records of our clinic 2025", true}} {
		again := &visit{client: sc.as("student"), id: visited.id}
		again.do(look)
		got := pulse(t, again.finish())
		again.onward()
		require.Equal(t, []string{"dog.medium.heart_rate", visited.low, visited.high}, []string{got.Row, got.Low, got.High})
		require.Equal(t, "medium dog, over 16 weeks, 10 to under 25 kg", got.Of)
		require.Equal(t, visited.own, got.Own)
		require.Contains(t, got.Source, visited.source)
		page := html.UnescapeString(string(sc.browser("student").get("/visits/" + visited.id + "/debrief").is(http.StatusOK).body))
		require.Contains(t, page, "Reference range (medium dog, over 16 weeks, 10 to under 25 kg): "+visited.low+" to "+visited.high)
		require.Equal(t, visited.own, strings.Contains(page, "The range is the school’s own. Source: records of our clinic 2025. Confidence: read in our records."))

		row, err := sc.s.store.Attempt(t.Context(), visited.id)
		require.NoError(t, err)
		key, _, err := sc.s.anew(t.Context(), row, rekey{to: &sc.s.shelf.Load().current("veterinary").Rubric})
		require.NoError(t, err)
		require.Equal(t, visited.low, keyedPulse(t, key).Low.String()+"/min", "marked anew by what it began with")
	}
}

// A patient of the school's own that holds only by the school's own ranges can
// be examined, and still be read when case and ranges are gone.
func TestOwnPatientByOwnRanges(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	dir := filepath.Join(sc.cfg.Data, "library", "cases")
	require.NoError(t, os.MkdirAll(dir, 0o700))
	text := strings.NewReplacer("case: tansy", "case: border", "heart.rate: 82..104", "heart.rate: 122..130").Replace(string(cases.Builtin().Case("tansy").Source))
	name := filepath.Join(dir, "border.yaml")
	require.NoError(t, os.WriteFile(name, []byte(text), 0o600))
	sc.restart()
	require.Contains(t, html.UnescapeString(string(sc.browser("instructor").get("/").body)), "is neither plainly normal (70..120 for this patient)")
	require.Nil(t, sc.s.library.Case("border"))

	sc.layRanges(mediumDog)
	sc.restart()
	require.NotNil(t, sc.s.library.Case("border"))
	v := sc.as("student").begin(sc.s.opaque("border"))
	v.do(look)
	require.NoError(t, os.Remove(name))
	require.NoError(t, os.Remove(filepath.Join(sc.cfg.Data, rangesName)))
	sc.restart()
	again := &visit{client: sc.as("student"), id: v.id, last: v.last}
	again.do(sentAct{Kind: "examine", Step: "mouth.inspect"})
	require.True(t, pulse(t, again.finish()).Own)
}

// Whatever lies there in place of a table: the server starts, ours holds, and
// staff are told where and why.
func TestBrokenRanges(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	path := filepath.Join(sc.cfg.Data, rangesName)
	whole := func(text string) func() error { return func() error { return os.WriteFile(path, []byte(text), 0o600) } }
	for _, row := range []struct {
		name string
		lay  func() error
		want string
	}{
		{"low above high", whole(rangeColumns + strings.Replace(mediumDog, "64,132", "164,132", 1)), "ranges.csv:2:67 low 164 is above high 132; right would be low at most high"},
		{"another scale than the catalogue's", whole(rangeColumns + "our.dog,dog,any,113,,0,,body_condition,/5,3,3,2.5,3.5,us,derived\n"), "ranges.csv:2:40 the dog is scored of 9 here, not of 5; right would be /9"},
		{"nothing", whole(""), "ranges.csv:1:1 the file is empty; the first line should be id,species"},
		{"no text", whole("\x00\xff\x00"), "ranges.csv:1:1 column 1 is"},
		{"markup", whole(rangeColumns + "<script>alert(1)</script>" + mediumDog), `ranges.csv:2:1 the id "<script>`},
		{"endless", whole(rangeColumns + strings.Repeat("#", normal.MaxBytes)), "ranges.csv:1:1 a file of ranges is at most"},
		{"a folder", func() error { return os.Mkdir(path, 0o700) }, "ranges.csv The file cannot be read: it is no plain file."},
		{"a pipe", func() error { return syscall.Mkfifo(path, 0o600) }, "ranges.csv The file cannot be read: it is no plain file."},
	} {
		t.Run(row.name, func(t *testing.T) {
			require.NoError(t, row.lay())
			defer func() { require.NoError(t, os.RemoveAll(path)) }()
			sc.restart()
			page := html.UnescapeString(string(sc.as("instructor").get("/rubrics").is(http.StatusOK).body))
			require.NotContains(t, string(sc.as("instructor").get("/rubrics").body), "<script>alert")
			page = strings.NewReplacer("<code>", "", "</code>", "").Replace(page)
			require.Contains(t, page, row.want)
			require.Contains(t, page, "It does not hold: until it is right, new visits are marked by the ranges that come with the program alone.")
			require.Equal(t, normal.Ours(), sc.s.table.Load().Overlaid)
			require.NotContains(t, page, sc.cfg.Data, "where the data lie is nobody's business")
			require.Contains(t, string(sc.as("student").get("/ranges").is(http.StatusOK).body), "medium dog")
		})
	}
}

// Where a school's ranges put patients between normal and abnormal, staff are told which.
func TestPatientsBetweenAreTold(t *testing.T) {
	sc := newSchool(t)
	sc.layRanges(strings.Replace(mediumDog, "64,132,58,155", "64,70,58,300", 1))
	require.Contains(t, sc.rubricsText(), "is neither plainly normal (64..70 for this patient)")
	sc.layRanges(mediumDog)
	require.NotContains(t, sc.rubricsText(), "for this patient)")
}

// Reviews are held against the table that holds: a replaced row is another item
// than the one that was confirmed.
func TestReviewsFollowTheTable(t *testing.T) {
	sc := newSchool(t)
	item, ok := sc.s.reviews.Load().Find("range/dog.medium.heart_rate")
	require.True(t, ok)
	require.NoError(t, os.WriteFile(filepath.Join(sc.cfg.Data, "reviews.csv"), []byte("item,digest,by,date,note\nrange/dog.medium.heart_rate,"+item.Digest+",N. Reviewer,2026-11-01,\n"), 0o600))
	sc.as("instructor").post("/rubrics").is(http.StatusSeeOther)
	require.Equal(t, "reviewed by N. Reviewer, 2026-11-01", sc.s.reviewed("range/dog.medium.heart_rate"))
	sc.layRanges(mediumDog + strings.Replace(mediumDog, "dog.medium.heart_rate,dog,medium,113,,10000,24999", "our.cat,cat,any,113,,0,", 1))
	require.Equal(t, "changed since N. Reviewer reviewed it, 2026-11-01", sc.s.reviewed("range/dog.medium.heart_rate"))
	_, ok = sc.s.reviews.Load().Find("range/our.cat")
	require.True(t, ok)
}

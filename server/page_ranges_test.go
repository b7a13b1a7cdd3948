package server

import (
	"html"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// rangesText asks for the page and gives it as it is read.
func (c *client) rangesText(status int, query string) string {
	c.sc.t.Helper()
	page := html.UnescapeString(string(c.get("/ranges?" + query).is(status).body))
	return strings.Join(strings.Fields(tags.ReplaceAllString(page, " ")), " ")
}

// Everybody signed in sees the row that grades an animal, what it rests on and
// the caution. 37.8 degC is 100.04 degF, 39.2 degC is 102.56 degF. The figures
// are those of ranges.csv and published.csv: Small Animal Clinical Nutrition,
// 5th ed., Table 16-1, gives 165 to 175 beats in weeks 8 to 12.
func TestRangesPage(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.anyone().get("/ranges").is(http.StatusSeeOther)
	for _, login := range []string{"student", "instructor", "coordinator"} {
		text := sc.browser(login).rangesText(http.StatusOK, "species=dog&age=10+wk&weight=5.2")
		for _, want := range []string{
			"Dog, 10 wk, 5.2 kg", "Heart rate puppy, 8 to 16 weeks Normal 120 to 180/min Grey zone 100 to 220/min Source: Small Animal Clinical Nutrition, 5th ed., Table 16-1",
			"Normal 37.8 °C (100 °F) to 39.2 °C (102.6 °F)", "Body condition puppy, 8 to 16 weeks Normal 4 to 5 of 9 Grey zone none", "wide on purpose. Not yet reviewed by a clinician. dog.puppy.heart_rate",
			"165 to 175/min puppy, weeks 8 to 12 Small Animal Clinical Nutrition, 5th ed., Table 16-1: read in the source", "Ranges vary with laboratory, breed and circumstance",
		} {
			require.Contains(t, text, want)
		}
		require.NotContains(t, text, "small dog")
	}
	student := sc.browser("student")
	require.Contains(t, student.rangesText(http.StatusOK, ""), "Dog, all ages, all weights")
	require.Contains(t, student.rangesText(http.StatusOK, "species=Guinea+pig"), "Guinea pig, all ages, all weights")
	require.Contains(t, student.rangesText(http.StatusOK, "species=dog&age=1+d"), "No range grades this animal")
	require.Contains(t, student.rangesText(http.StatusOK, "species=cattle"), "/min")
	require.Contains(t, string(student.get("/").body), `<a href="/ranges">Ranges</a>`)
}

// What cannot be read is told beside the form and keeps what was typed; nothing
// is shown that might be taken for an answer.
func TestRangesPageRefuses(t *testing.T) {
	sc := newSchool(t)
	student := sc.browser("student")
	for _, row := range []struct{ species, age, weight, want string }{
		{"otter", "", "", "There are no ranges of this species. Choose one of the list."},
		{"dog", "soon", "", `The age "soon" cannot be read; right would be 5 d, 10 wk, 3 mo or 8 y.`},
		{"dog", "-3 y", "", `The age "-3 y" cannot be read`},
		{"dog", "99999999999999999999 y", "", "cannot be read"},
		{"dog", "", "0", `The weight "0 kg" cannot be read; right would be 5.2 kg, 850 g or 11 lb.`},
		{"dog", "", "5 stone", `The weight "5 stone" cannot be read`},
		{"dog", `"><script>alert(1)</script>`, "", "cannot be read"},
		{"<b>", "x\x00", strings.Repeat("9", 4000), "There are no ranges of this species"},
	} {
		query := url.Values{"species": {row.species}, "age": {row.age}, "weight": {row.weight}}.Encode()
		text := student.rangesText(http.StatusUnprocessableEntity, query)
		require.Contains(t, text, row.want)
		require.NotContains(t, text, "Published figures")
		raw := string(student.get("/ranges?" + query).body)
		require.NotContains(t, raw, "<script>alert")
		require.NotContains(t, raw, "<b>")
	}
	raw := string(student.get("/ranges?species=cat&age=soon").is(http.StatusUnprocessableEntity).body)
	require.Contains(t, raw, `<input id="age" name="age" value="soon" autocomplete="off" maxlength="20" aria-invalid="true" aria-describedby="wrong-age">`)
	require.Contains(t, raw, `<option value="cat" selected>Cat</option>`)
}

// The school's units: 10 kg are 22.0 lb, 25 kg are 55.1 lb (1 lb = .45359237
// kg); 11 lb are 4.99 kg and so a small dog, 30 lb are 13.6 kg and so a medium
// one.
func TestRangesPageInTheSchoolsUnits(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	require.Contains(t, sc.browser("student").rangesText(http.StatusOK, "age=3+y&weight=11+lb"), "Heart rate small dog, over 16 weeks, under 10 kg")
	require.Contains(t, sc.browser("student").rangesText(http.StatusOK, "age=3+y&weight=30"), "Heart rate large dog")
	sc.browser("coordinator").post("/settings", "temperature", "degF", "weight", "lb").is(http.StatusSeeOther)
	text := sc.browser("student").rangesText(http.StatusOK, "age=3+y&weight=30")
	require.Contains(t, text, "Dog, 3 y, 30 lb")
	require.Contains(t, text, "Heart rate medium dog, over 16 weeks, 22 to under 55.1 lb Normal 70 to 120/min")
	require.Contains(t, text, "99.9 °F (37.7 °C) to 102.6 °F (39.2 °C)")
	require.Contains(t, text, "Weight in lb")
}

// The school's own rows are marked as such, and reviewed by their own names.
func TestRangesPageShowsOwnRows(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sc.layRanges(mediumDog + "our.otter,otter,any,,,,,heart_rate,/min,80,150,70,170,our aquarium,derived\n")
	text := sc.browser("student").rangesText(http.StatusOK, "species=dog&age=4+y&weight=14")
	require.Contains(t, text, "Normal 64 to 132/min Grey zone 58 to 155/min The school’s own. Source: records of our clinic 2025. Confidence: read in our records.")
	require.Equal(t, 1, strings.Count(text, "The school’s own."))
	text = sc.browser("student").rangesText(http.StatusOK, "species=otter")
	require.Contains(t, text, "Otter, all ages, all weights")
	require.Contains(t, text, "Heart rate otter Normal 80 to 150/min")
	require.Contains(t, text, "No published figure stands behind this animal.")
}

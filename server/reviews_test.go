package server

import (
	"os"
	"path/filepath"
	"testing"

	"dewclaw/cases/review"
	"github.com/stretchr/testify/require"
)

// What a clinician confirmed is shown with name and day wherever it stands, the
// rest as not yet reviewed; the file is read anew with the rubrics, and what is
// wrong with it stands on their page.
func TestReviewsAreShown(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	staff := sc.browser("instructor")
	require.Contains(t, string(staff.get("/").body), "not yet reviewed by a clinician")
	require.NotContains(t, string(sc.browser("student").get("/").body), "reviewed by a clinician", "students see no title and no review before the debrief")
	require.Contains(t, string(staff.get("/rubrics/veterinary?species=dog&when=routine").body), "common practice, no source · not yet reviewed by a clinician")

	row, ok := sc.s.reviews.Load().Find("case/tansy")
	require.True(t, ok)
	text := "item,digest,by,date,note\ncase/tansy," + row.Digest + ",N. Reviewer,2026-11-01,\ncase/monty,000000000000,N. Reviewer,2026-11-01,\ncase/none,1,N,2026-11-01,\nbad row\n"
	require.NoError(t, os.WriteFile(filepath.Join(sc.s.cfg.Data, review.File), []byte(text), 0o644))
	staff.post("/rubrics").is(303)
	page := string(staff.get("/").body)
	require.Contains(t, page, "reviewed by N. Reviewer, 2026-11-01")
	require.Contains(t, page, "changed since N. Reviewer reviewed it, 2026-11-01")
	rubrics := string(staff.get("/rubrics").body)
	require.Contains(t, rubrics, "this row has 1 cells")
	require.Contains(t, rubrics, "there is no item &#34;case/none&#34; to review")

	v := sc.browser("student").begin(sc.s.opaque("tansy"))
	require.Regexp(t, `What is sensed at (\d+) of the (\d+) places of this animal is not yet reviewed by a clinician\.`, string(v.client.get("/visits/"+v.id).body))
	require.Equal(t, "reviewed by N. Reviewer, 2026-11-01", v.finish().Review)
	require.Contains(t, string(v.client.get("/visits/"+v.onward().id+"/debrief").body), "This patient: reviewed by N. Reviewer")
}

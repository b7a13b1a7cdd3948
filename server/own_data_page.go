package server

import (
	"archive/zip"
	"context"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"
	"sync"

	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
	"dewclaw/web"
)

// keepsake is the page that goes with own data: one file that needs no other,
// in parts that are written one after the other.
var keepsake = sync.OnceValues(func() (*template.Template, error) {
	return template.ParseFS(web.Embedded().Templates, "own/data.html")
})

// keepsakeHead is what stands before the visits.
type keepsakeHead struct {
	Style   template.HTML
	Person  store.Person
	Sounds  string
	Made    string
	Zone    string
	Cohorts []ownCohort
	Turns   []keepsakeTurn
}

type keepsakeTurn struct {
	Title, Kind, Excused string
	Try                  int
	Clock                []keepsakeDeed
}

type keepsakeDeed struct{ At, Did, Reason string }

// keepsakeVisit is one visit.
type keepsakeVisit struct {
	Title, About, Presenting, Began, Finished, Purpose, State, Note, Folder string
	Acts                                                                    []actRow
	Lines                                                                   []keepsakeLine
	Total, Max, Passed                                                      string
	Domains                                                                 []face.Domain
}

type keepsakeLine struct{ Place, Value string }

// keepsakeFoot is what stands after the visits.
type keepsakeFoot struct {
	Reviews  []ownReview
	Grants   []ownGrant
	Sessions []ownSession
}

// readable writes the page.
func (o *ownData) readable(ctx context.Context) error {
	t, err := keepsake()
	if err != nil {
		return err
	}
	w, err := o.zip.CreateHeader(&zip.FileHeader{Name: "my-data.html", Method: zip.Deflate, Modified: o.at})
	if err != nil {
		return err
	}
	head, err := o.head(ctx)
	if err != nil {
		return err
	}
	if err := t.ExecuteTemplate(w, "head", head); err != nil {
		return err
	}
	if err := o.eachVisit(ctx, func(ctx context.Context, l store.Listed) error {
		v, err := o.visit(ctx, l)
		if err != nil {
			return err
		}
		return t.ExecuteTemplate(w, "visit", o.keepsakeVisit(v))
	}); err != nil {
		return err
	}
	return o.foot(ctx, t, w)
}

func (o *ownData) head(ctx context.Context) (keepsakeHead, error) {
	css, err := fs.ReadFile(web.Embedded().Static, "css/own_data.css")
	if err != nil {
		return keepsakeHead{}, err
	}
	h := keepsakeHead{Style: template.HTML("<style>\n" + string(css) + "</style>"), Person: o.me, Sounds: onlyHeard(o.me.Alternatives),
		Made: o.s.moment(o.at), Zone: o.s.zoneWords(o.at)}
	if h.Cohorts, err = o.ownCohorts(ctx); err != nil {
		return h, err
	}
	turns, err := o.turns(ctx)
	for _, t := range turns {
		row := keepsakeTurn{Title: t.Title, Kind: t.Kind, Try: t.Try, Excused: t.Excused}
		for _, d := range t.Clock {
			row.Clock = append(row.Clock, keepsakeDeed{o.s.moment(d.At), clockDid(d), d.Reason})
		}
		h.Turns = append(h.Turns, row)
	}
	return h, err
}

// clockDid says what moved a clock.
func clockDid(d ownClock) string {
	text := map[string]string{"begin": "begun", "pause": "paused", "resume": "went on", "add": "minutes given", "admit": "let in late", "finish": "ended", "reopen": "reopened"}[d.Deed]
	if text == "" {
		text = d.Deed
	}
	if d.Own {
		text += ", by yourself"
	}
	if d.Minutes != 0 {
		text += fmt.Sprintf(": %d", d.Minutes)
	}
	return text
}

func (o *ownData) foot(ctx context.Context, t *template.Template, w io.Writer) error {
	var f keepsakeFoot
	for _, part := range []struct {
		read func(context.Context) (any, error)
		into func(any)
	}{
		{o.reviews, func(v any) { f.Reviews = v.([]ownReview) }}, {o.sounds, func(v any) { f.Grants = v.([]ownGrant) }},
		{o.sessions, func(v any) { f.Sessions = v.([]ownSession) }},
	} {
		v, err := part.read(ctx)
		if err != nil {
			return err
		}
		part.into(v)
	}
	if err := t.ExecuteTemplate(w, "foot", f); err != nil {
		return err
	}
	if err := o.eachNote(ctx, func(n ownNote) error { return t.ExecuteTemplate(w, "note", n) }); err != nil {
		return err
	}
	return t.ExecuteTemplate(w, "end", nil)
}

// keepsakeVisit is a visit in words.
func (o *ownData) keepsakeVisit(v ownVisit) keepsakeVisit {
	out := keepsakeVisit{Title: "A patient", Began: o.s.moment(v.Began), Purpose: v.Purpose, Note: v.Note, Folder: "visits/" + v.ID + "/",
		State: map[string]string{"open": "not finished", "grading": "being marked", "graded": "marked", "closed": "finished"}[v.State]}
	if v.Finished != nil {
		out.Finished = o.s.moment(*v.Finished)
	}
	if v.Visit == nil {
		for _, e := range v.Acts {
			out.Acts = append(out.Acts, actRow{N: e.Act.N, Text: ownActText(e.Act)})
		}
		return out
	}
	p := v.Visit.Patient
	cat := o.s.catalogues[p.Species]
	if cat == nil {
		cat = &face.Catalogue{} // of a species that is no longer there: ids then
	}
	out.Title, out.About, out.Presenting = p.Name, signalment(p), p.Presenting
	out.Acts = actRows(v.Visit.Acts, cat)
	for i, a := range v.Visit.Acts {
		out.Acts[i].Text = joinSet([]string{out.Acts[i].Text, saidText(a.Report)}, ". ")
	}
	for _, l := range v.Visit.Sheet {
		out.Lines = append(out.Lines, keepsakeLine{joinSet([]string{fieldLabel(cat, l.Field), l.Site}, ", "), joinSet([]string{shownValue(cat, l), l.Reason}, "; ")})
	}
	if r := v.Report; r != nil {
		out.Total, out.Max, out.Domains = pts(r.Total), pts(r.Max), r.Domains
		if out.Passed = "not passed"; r.Pass {
			out.Passed = "passed"
		}
	}
	return out
}

// saidText is a report to the veterinarian in the student's own words.
func saidText(h *face.Handover) string {
	if h == nil {
		return ""
	}
	return joinSet([]string{h.Situation, h.Background, h.Assessment, h.Request}, " / ")
}

// ownActText is an act as it was sent, of a visit that may not be read yet: ids
// and values, and nothing of what it brought.
func ownActText(a rubric.Act) string {
	parts := []string{string(a.Kind), a.Step, a.Field, a.Region, a.Site, a.Manner, a.Topic, a.How, a.Value, a.Interpretation, a.Urgency, strings.Join(a.Problems, ", "), a.Reason}
	if h := a.Report; h != nil {
		parts = append(parts, h.Situation, h.Background, h.Assessment, h.Request)
	}
	return joinSet(parts, " · ")
}

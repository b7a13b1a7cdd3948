package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// strikePage is where the marking of one patient is changed for everybody of an
// assignment: what can be changed, what was, and one proposal with every mark.
type strikePage struct {
	Base
	ID, Assignment string
	Patients       []choiceRow
	Patient        string // chosen: opaque id
	PatientName    string
	Domains        []strikeDomain
	Urgencies      []choiceRow
	Problems       []choiceRow
	Reason         string // typed, and it did not go
	All            []regradingRow
	One            *regradingView
	What           string // the proposal, in words
	Wrong          string
	WrongVisits    []string
}

// strikeDomain is a domain with the lines that can be struck.
type strikeDomain struct {
	Label string
	Lines []strikeRow
}

// strikeRow is one of them, with how it went.
type strikeRow struct {
	ID, Label, Mean   string
	Visits, Full, Non int
	Chosen            bool
}

// strikeForm is what the page sends.
type strikeForm struct {
	Deed, Of, Patient, Urgency, Reason string
	Strike, Accept                     []string
	Leave, Alone                       bool
}

func (s *Server) showStrike(c *gin.Context) error {
	f := strikeForm{Of: c.Query("of"), Patient: c.Query("patient"), Strike: c.QueryArray("strike")}
	p, err := s.strikePage(c.Request.Context(), person(c), c.Param("id"), f, c.Query("page"))
	if err != nil {
		return err
	}
	return s.page(c, "strike", p)
}

func (s *Server) strikePage(ctx context.Context, who face.Person, id string, f strikeForm, pageNr string) (*strikePage, error) {
	a, c, err := s.toMark(ctx, who, id)
	if err != nil {
		return nil, err
	}
	p := &strikePage{Base: Base{Title: "Change the marking for everybody"}, ID: a.ID, Assignment: a.Title, Reason: f.Reason}
	if err := s.strikeList(ctx, p, a, f.Of); err != nil {
		return nil, err
	}
	if f.Of != "" {
		if err := s.strikeOne(ctx, who, p, c, f.Of, pageNr); err != nil {
			return nil, err
		}
	}
	caseID := s.strikePatients(p, a, f.Patient)
	if caseID == "" {
		return p, nil
	}
	return p, s.strikeChoices(ctx, p, a, caseID, f)
}

// strikePatients are the patients of the assignment; the chosen one is returned.
func (s *Server) strikePatients(p *strikePage, a store.Assignment, chosen string) (caseID string) {
	ids := slices.Concat(a.Slots...)
	slices.Sort(ids)
	for _, id := range slices.Compact(ids) {
		k := s.library.Case(id)
		if k == nil {
			continue
		}
		row := choiceRow{ID: s.opaque(id), Label: k.Signalment.Name + ": " + k.Title}
		if row.Chosen = row.ID == chosen; row.Chosen {
			caseID, p.Patient, p.PatientName = id, row.ID, row.Label
		}
		p.Patients = append(p.Patients, row)
	}
	return caseID
}

// strikeChoices are what can be changed for a patient.
func (s *Server) strikeChoices(ctx context.Context, p *strikePage, a store.Assignment, caseID string, f strikeForm) error {
	lines, err := s.strikable(ctx, a, caseID)
	if err != nil {
		return err
	}
	for _, l := range lines {
		label := domainLabels[l.Domain]
		if n := len(p.Domains); n == 0 || p.Domains[n-1].Label != label {
			p.Domains = append(p.Domains, strikeDomain{Label: label})
		}
		d := &p.Domains[len(p.Domains)-1]
		mean := percent(int(l.Earned * 1000 / l.Max)) // a line that can be struck has a maximum
		d.Lines = append(d.Lines, strikeRow{ID: l.ID, Label: l.Label, Mean: mean, Visits: l.Visits, Full: l.Full, Non: l.None, Chosen: slices.Contains(f.Strike, l.ID)})
	}
	for _, u := range urgencies {
		p.Urgencies = append(p.Urgencies, choiceRow{ID: u, Label: u, Chosen: u == f.Urgency})
	}
	cat, err := s.catalogue(s.library.Case(caseID).Species)
	if err != nil {
		return err
	}
	for _, x := range cat.Problems {
		p.Problems = append(p.Problems, choiceRow{ID: x.ID, Label: x.Label, Chosen: slices.Contains(f.Accept, x.ID)})
	}
	return nil
}

// strikeList are the changes so far.
func (s *Server) strikeList(ctx context.Context, p *strikePage, a store.Assignment, of string) error {
	names, err := s.staffNames(ctx)
	if err != nil {
		return err
	}
	list, err := s.store.KeyChanges(ctx, a.ID)
	if err != nil {
		return fmt.Errorf("strike: %w", err)
	}
	for _, g := range list {
		what, err := s.strikeText(ctx, g)
		if err != nil {
			return err
		}
		p.All = append(p.All, regradingRow{ID: g.ID, Began: s.moment(g.At), By: names[g.By], State: stateWords[g.State].label, Here: g.ID == of,
			Versions: patientName(s.library.Case(g.Case)) + ": " + what})
	}
	return nil
}

// strikeText says what a change does, in the words of today's catalogue.
func (s *Server) strikeText(ctx context.Context, g store.Regrading) (string, error) {
	a, err := s.amendment(ctx, g)
	if err != nil {
		return "", err
	}
	k := s.library.Case(g.Case)
	if k == nil {
		return strings.Join(a.Strike, ", "), nil
	}
	return amendWords(a, s.words(s.library.Catalogue(k.Species))), nil
}

// strikeOne is one change with every mark, and who may sign it.
func (s *Server) strikeOne(ctx context.Context, who face.Person, p *strikePage, c store.Cohort, of, pageNr string) error {
	g, _, _, err := s.strikeOf(ctx, who, p.ID, of)
	if err != nil {
		return err
	}
	names, err := s.staffNames(ctx)
	if err != nil {
		return err
	}
	if p.What, err = s.strikeText(ctx, g); err != nil {
		return err
	}
	if p.One, err = s.regradingView(ctx, g, names, pageNr); err != nil {
		return err
	}
	v := p.One
	v.Action = "/assignments/" + p.ID + "/strike"
	v.More = v.Action + "?of=" + g.ID
	v.AcceptWords = "Sign: put the marks of " + count(v.Visited, "visit") + " in force"
	if !v.CanAccept {
		return nil
	}
	v.StateText = "Proposed: these marks are worked out, and nothing is in force before a second person signs."
	v.Note = "Proposed by " + names[g.By] + ". A second person signs; you can."
	if g.By != who.ID {
		return nil
	}
	others, err := s.signers(ctx, c.ID, who.ID)
	if err != nil {
		return err
	}
	v.Alone = len(others) == 0 && auth.Role(who.Role) == auth.Coordinator
	v.Barred = !v.Alone
	v.Note = "You proposed this. Somebody else signs it: " + orNobody(others) + "."
	if v.Alone {
		v.Note = "You proposed this, and a second person should sign it. There is no other instructor in this cohort and no other coordinator: add one, or sign it yourself and say so. The log keeps that nobody else has looked."
	}
	return nil
}

// strikePageDeeds are what can be asked of the page; each returns which change it is
// about and what was done.
var strikePageDeeds = map[string]func(*Server, context.Context, face.Person, string, strikeForm) (of, text string, err error){
	"propose": func(s *Server, ctx context.Context, who face.Person, id string, f strikeForm) (string, string, error) {
		ask := strikeAsk{patient: f.Patient, change: rubric.Amendment{Strike: f.Strike, Urgency: f.Urgency, Accept: f.Accept}, reason: f.Reason}
		g, err := s.proposeStrike(ctx, who, id, ask)
		return g.ID, "The marks are being worked out. Nothing changes until a second person signs.", err
	},
	"accept": func(s *Server, ctx context.Context, who face.Person, id string, f strikeForm) (string, string, error) {
		g, _, c, err := s.strikeOf(ctx, who, id, f.Of)
		if err != nil {
			return "", "", err
		}
		n, err := s.signStrike(ctx, who, g, c, f.Reason, f.Leave, f.Alone)
		return g.ID, "Signed. In force for " + count(n, "visit") + "; the earlier reports are kept.", err
	},
	"undo": func(s *Server, ctx context.Context, who face.Person, id string, f strikeForm) (string, string, error) {
		g, _, _, err := s.strikeOf(ctx, who, id, f.Of)
		if err != nil {
			return "", "", err
		}
		n, err := s.store.Undo(ctx, g.ID, who.ID, f.Reason, f.Leave)
		return g.ID, "Put back: " + count(n, "visit") + " as before.", changedFault(err)
	},
	"withdraw": func(s *Server, ctx context.Context, who face.Person, id string, f strikeForm) (string, string, error) {
		g, _, _, err := s.strikeOf(ctx, who, id, f.Of)
		if err != nil {
			return "", "", err
		}
		return g.ID, "Withdrawn. No mark was changed.", changedFault(s.store.Withdraw(ctx, g.ID, who.ID))
	},
}

func readStrikeForm(c *gin.Context) strikeForm {
	return strikeForm{Deed: c.PostForm("deed"), Of: c.PostForm("of"), Patient: c.PostForm("patient"), Urgency: c.PostForm("urgency"),
		Reason: strings.TrimSpace(c.PostForm("reason")), Strike: c.PostFormArray("strike"), Accept: chosenOnly(c.PostFormArray("accept")),
		Leave: c.PostForm("leave") == "yes", Alone: c.PostForm("alone") == "yes"}
}

// chosenOnly leaves out what was not chosen.
func chosenOnly(all []string) []string {
	return slices.DeleteFunc(all, func(x string) bool { return x == "" })
}

func (s *Server) doStrike(c *gin.Context) error {
	ctx, id, f := c.Request.Context(), c.Param("id"), readStrikeForm(c)
	deed := strikePageDeeds[f.Deed]
	if deed == nil {
		return invalid("/deed", "One of propose, accept, undo, withdraw.")
	}
	of, text, err := deed(s, ctx, person(c), id, f)
	if err == nil {
		s.notice(c, text)
		return s.redirect(c, "/assignments/"+url.PathEscape(id)+"/strike?of="+of)
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.strikePage(ctx, person(c), id, f, "")
	if again != nil {
		return again
	}
	p.wrong(row, fault, f)
	return s.write(c, row.status, "strike", p)
}

func (p *strikePage) wrong(row statusRow, fault *Fault, f strikeForm) {
	var told Fault
	told.Text = fault.Text
	for _, field := range fault.Fields {
		if id, ok := strings.CutPrefix(field.Pointer, "/visits/"); ok {
			p.WrongVisits = append(p.WrongVisits, id)
			continue
		}
		told.Fields = append(told.Fields, field)
	}
	p.Wrong = faultText(row, &told)
	if p.One != nil {
		p.One.Reason, p.One.MayLeave = f.Reason, len(p.WrongVisits) > 0
		p.Reason = ""
	}
}

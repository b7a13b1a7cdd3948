package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// regradePage is where visits are marked anew: what can be proposed, what was,
// and one proposal with every changed mark.
type regradePage struct {
	Base
	ID, RubricTitle string
	From            []rubricRow // versions whose visits can be marked anew
	To              []rubricRow // newer versions
	Patients        []face.Term
	All             []regradingRow
	One             *regradingView
	Wrong           string
	WrongVisits     []string // visits that were changed in between
}

// regradingRow is a regrading in a list.
type regradingRow struct {
	ID, Began, By, Versions, State string
	Here                           bool
}

func (s *Server) showRegrade(c *gin.Context) error {
	p, err := s.regradePage(c.Request.Context(), person(c), c.Param("id"), c.Query("of"), c.Query("page"))
	if err != nil {
		return err
	}
	return s.page(c, "regrade", p)
}

// regradeForm is what the page sends.
type regradeForm struct {
	Deed, Of, From, To, Patient, Reason string
	Leave                               bool
}

// regradeDeeds are what can be asked of the page.
var regradeDeeds = map[string]func(*Server, context.Context, face.Person, string, regradeForm) (of, notice string, err error){
	"propose":  (*Server).doPropose,
	"withdraw": (*Server).doWithdraw,
	"accept":   (*Server).doAccept,
	"undo":     (*Server).doUndo,
}

func (s *Server) doRegrade(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	f := regradeForm{Deed: c.PostForm("deed"), Of: c.PostForm("of"), From: c.PostForm("from"), To: c.PostForm("to"),
		Patient: c.PostForm("patient"), Reason: strings.TrimSpace(c.PostForm("reason")), Leave: c.PostForm("leave") == "yes"}
	deed := regradeDeeds[f.Deed]
	if deed == nil {
		return invalid("/deed", "One of propose, withdraw, accept, undo.")
	}
	of, notice, err := deed(s, ctx, person(c), id, f)
	if err == nil {
		s.notice(c, notice)
		return s.redirect(c, "/rubrics/"+url.PathEscape(id)+"/regrade?of="+of)
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.regradePage(ctx, person(c), id, f.Of, "")
	if again != nil {
		return again
	}
	p.wrong(row, fault, f)
	return s.write(c, row.status, "regrade", p)
}

// wrong puts what did not go onto the page, with what was typed.
func (p *regradePage) wrong(row statusRow, fault *Fault, f regradeForm) {
	p.Wrong = row.text
	for _, field := range fault.Fields {
		if id, ok := strings.CutPrefix(field.Pointer, "/visits/"); ok {
			p.WrongVisits = append(p.WrongVisits, id)
			continue
		}
		p.Wrong += " " + field.Detail
	}
	if p.One != nil {
		p.One.Reason, p.One.MayLeave = f.Reason, len(p.WrongVisits) > 0
	}
}

func (s *Server) doPropose(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	all, _, err := s.versions(ctx, id)
	if err != nil {
		return "", "", err
	}
	from, to := byKey(all, f.From), byKey(all, f.To)
	if from == nil || to == nil {
		return "", "", invalid("/from", "Choose an earlier and a newer version.")
	}
	caseID := ""
	if f.Patient != "" {
		k, err := s.caseOf(f.Patient)
		if err != nil {
			return "", "", invalid("/patient", "Choose one of the patients, or all.")
		}
		caseID = k.ID
	}
	g, err := s.propose(ctx, who.ID, from, to, caseID)
	return g.ID, "The marks are being worked out. Nothing changes until you accept them.", err
}

func byKey(all []*shelved, key string) *shelved {
	for _, row := range all {
		if row.key() == key {
			return row
		}
	}
	return nil
}

// regradingOf finds a regrading of this rubric.
func (s *Server) regradingOf(ctx context.Context, rubricID, of string) (store.Regrading, error) {
	g, err := s.store.Regrading(ctx, of)
	if err != nil {
		return g, missing("regrading", err)
	}
	if g.Rubric != rubricID {
		return g, ErrMissing
	}
	return g, nil
}

func (s *Server) doWithdraw(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	g, err := s.regradingOf(ctx, id, f.Of)
	if err != nil {
		return "", "", err
	}
	return g.ID, "Withdrawn. No mark was changed.", changedFault(s.store.Withdraw(ctx, g.ID, who.ID))
}

func (s *Server) doAccept(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	return s.settle(ctx, who, id, f, s.store.Accept, "now marked by the newer version")
}

func (s *Server) doUndo(ctx context.Context, who face.Person, id string, f regradeForm) (string, string, error) {
	return s.settle(ctx, who, id, f, s.store.Undo, "marked as before again")
}

func (s *Server) settle(ctx context.Context, who face.Person, id string, f regradeForm, do settle, words string) (string, string, error) {
	g, err := s.regradingOf(ctx, id, f.Of)
	if err != nil {
		return "", "", err
	}
	n, err := do(ctx, g.ID, who.ID, f.Reason, f.Leave)
	if err != nil {
		return "", "", changedFault(err)
	}
	is := "are"
	if n == 1 {
		is = "is"
	}
	return g.ID, fmt.Sprintf("Done: %s %s %s.", count(n, "visit"), is, words), nil
}

func (s *Server) regradePage(ctx context.Context, who face.Person, id, of, pageNr string) (*regradePage, error) {
	all, uses, err := s.versions(ctx, id)
	if err != nil {
		return nil, err
	}
	p := &regradePage{Base: Base{Title: "Mark visits anew"}, ID: id, RubricTitle: all[0].Title}
	p.choices(all, uses)
	patients, err := s.unsealed(ctx, who.ID, s.library.Cases())
	if err != nil {
		return nil, err
	}
	for _, k := range patients {
		p.Patients = append(p.Patients, face.Term{ID: s.opaque(k.ID), Label: k.Signalment.Name + ": " + k.Title})
	}
	names, err := s.staffNames(ctx)
	if err != nil {
		return nil, err
	}
	list, err := s.store.Regradings(ctx, id)
	if err != nil {
		return nil, fmt.Errorf("regradings: %w", err)
	}
	for _, g := range list {
		p.All = append(p.All, regradingRow{ID: g.ID, Began: s.day(g.At), By: names[g.By], State: stateWords[g.State].label, Here: g.ID == of,
			Versions: fmt.Sprintf("%s to %s", versionOf(all, g.From), versionOf(all, g.To))})
	}
	if of == "" {
		return p, nil
	}
	g, err := s.regradingOf(ctx, id, of)
	if err != nil {
		return nil, err
	}
	if p.One, err = s.regradingView(ctx, g, names, pageNr); err != nil {
		return nil, err
	}
	p.One.From, p.One.To = versionOf(all, g.From), versionOf(all, g.To)
	p.One.Action = "/rubrics/" + id + "/regrade"
	p.One.More = p.One.Action + "?of=" + g.ID
	return p, nil
}

// choices are the versions between which visits can be marked anew: from one
// that marks graded visits to a newer one among the files.
func (p *regradePage) choices(all []*shelved, uses rubricUse) {
	oldest := 0
	for _, row := range all {
		if uses[row.Hash].Graded > 0 && (oldest == 0 || row.Version < oldest) {
			oldest = row.Version
		}
	}
	shelfNewest := 0
	for _, row := range all {
		if oldest > 0 && row.Version > oldest && !row.Kept {
			p.To = append(p.To, rubricRowOf(row, uses[row.Hash]))
			shelfNewest = max(shelfNewest, row.Version)
		}
	}
	for _, row := range all {
		if uses[row.Hash].Graded > 0 && row.Version < shelfNewest {
			p.From = append(p.From, rubricRowOf(row, uses[row.Hash]))
		}
	}
}

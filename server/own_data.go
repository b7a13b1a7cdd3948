package server

import (
	"archive/zip"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"sync"
	"time"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// The people who are handed their data at a time, and how long that may take.
const (
	mostHanded = 2
	handFor    = 10 * time.Minute
)

// handing counts the files of own data that are being written.
type handing struct {
	mu sync.Mutex
	n  int
}

// take reports whether one more may be written; give it back with done.
func (h *handing) take() bool {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.n >= mostHanded {
		return false
	}
	h.n++
	return true
}

func (h *handing) done() { h.mu.Lock(); defer h.mu.Unlock(); h.n-- }

// giveOwnData hands somebody everything that is kept of them as one ZIP. There
// is no way to ask for another's. It is written as it is read, visit by visit.
func (s *Server) giveOwnData(c *gin.Context) error {
	ctx, who := c.Request.Context(), person(c)
	if !s.handing.take() {
		return &Fault{Kind: ErrBusy, Text: "Others are being handed their data just now. Try again in a minute.", Wait: 60}
	}
	defer s.handing.done()
	me, err := s.store.Person(ctx, who.ID)
	if err != nil {
		return missing("own data", err)
	}
	c.Header("Content-Disposition", `attachment; filename="my-data.zip"`)
	c.Header("Content-Type", "application/zip")
	if c.Request.Method == http.MethodHead {
		c.Status(done)
		return nil
	}
	if err := s.store.Record(ctx, store.Note{By: who.ID, Deed: deedOwnData, About: "person:" + who.ID}); err != nil {
		return err
	}
	_ = http.NewResponseController(c.Writer).SetWriteDeadline(time.Now().Add(handFor)) // not every writer has one
	c.Status(done)
	w := zip.NewWriter(c.Writer)
	o := &ownData{s: s, who: who, me: me, zip: w, at: s.now()}
	if err := o.write(ctx); err != nil { // without its directory a ZIP is broken, so nobody takes it for whole
		s.log.Error("own data broke off", "request", requestID(c), "cause", err.Error())
		return nil
	}
	return w.Close()
}

// ownData writes one person's data.
type ownData struct {
	s   *Server
	who face.Person
	me  store.Person
	zip *zip.Writer
	at  time.Time
}

// write writes every file, the readable one last: it is made of the same.
func (o *ownData) write(ctx context.Context) error {
	for _, f := range []struct {
		name string
		read func(context.Context) (any, error)
	}{
		{"person.json", o.person}, {"cohorts.json", o.cohorts}, {"sittings.json", o.sittings}, {"reviews.json", o.reviews},
		{"sounds.json", o.sounds}, {"drills.json", o.drills}, {"watched.json", o.watched}, {"plans.json", o.plans}, {"sessions.json", o.sessions}, {"log.json", o.log},
	} {
		v, err := f.read(ctx)
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if err := o.file(f.name, v); err != nil {
			return err
		}
	}
	if err := o.eachVisit(ctx, o.visitFiles); err != nil {
		return err
	}
	return o.readable(ctx)
}

// file writes one JSON file.
func (o *ownData) file(name string, v any) error {
	w, err := o.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Deflate, Modified: o.at})
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

type ownPerson struct {
	ID           string     `json:"id"`
	Login        string     `json:"login"`
	Name         string     `json:"name"`
	Number       string     `json:"number,omitempty"`
	Email        string     `json:"email,omitempty"`
	Role         string     `json:"role"`
	Created      time.Time  `json:"account_made"`
	Password     string     `json:"password"`
	CheckPassed  *time.Time `json:"sound_check_passed,omitempty"`
	CheckAnswer  *time.Time `json:"sound_check_answered,omitempty"`
	Traced       bool       `json:"sounds_as_a_trace"`
	Described    bool       `json:"sounds_in_words"`
	KeptFromLoss bool       `json:"kept_from_erasure"`
	AskedSure    bool       `json:"asked_how_sure"`
	HandedOut    time.Time  `json:"handed_out"`
}

func (o *ownData) person(ctx context.Context) (any, error) {
	p := o.me
	asked, err := o.s.store.AsksSure(ctx, p.ID)
	return ownPerson{ID: p.ID, Login: p.Login, Name: p.Name, Number: p.Number, Email: p.Email, Role: p.Role, Created: p.Created,
		Password: "kept as a hash only; nobody can read it", CheckPassed: timeOrNone(p.CheckPassed), CheckAnswer: timeOrNone(p.CheckAnswered),
		Traced: p.Alternatives.Traced, Described: p.Alternatives.Described, KeptFromLoss: p.Hold != "", AskedSure: asked, HandedOut: o.at}, err
}

func timeOrNone(t time.Time) *time.Time {
	if t.IsZero() {
		return nil
	}
	return &t
}

type ownCohort struct {
	ID     string    `json:"id"`
	Name   string    `json:"name"`
	Role   string    `json:"role"`
	Since  time.Time `json:"since"`
	Extra  int       `json:"extra_percent,omitempty"`
	Later  int       `json:"later_minutes,omitempty"`
	Pauses int       `json:"pause_minutes,omitempty"`
}

func (o *ownData) cohorts(ctx context.Context) (any, error) { return o.ownCohorts(ctx) }

// ownCohorts are the places in cohorts, with what one has beyond the others.
func (o *ownData) ownCohorts(ctx context.Context) ([]ownCohort, error) {
	mine, err := o.s.store.MemberOf(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownCohort{}
	for _, m := range mine {
		c, err := o.s.store.Cohort(ctx, m.Cohort)
		if err != nil {
			return nil, err
		}
		row := ownCohort{ID: c.ID, Name: c.Name, Role: m.Role, Since: m.Since}
		beyond, err := o.s.store.Accommodations(ctx, m.Cohort)
		if err != nil {
			return nil, err
		}
		for _, a := range beyond {
			if a.Person == o.who.ID {
				row.Extra, row.Later, row.Pauses = a.Extra, a.Later, a.Pauses
			}
		}
		out = append(out, row)
	}
	return out, nil
}

type ownTurn struct {
	ID      string     `json:"id"`
	Title   string     `json:"title"`
	Kind    string     `json:"kind"`
	Try     int        `json:"try"`
	Excused string     `json:"excused,omitempty"` // why it does not count
	Clock   []ownClock `json:"clock"`
}

type ownClock struct {
	At      time.Time `json:"at"`
	Deed    string    `json:"deed"`
	Minutes int       `json:"minutes,omitempty"`
	Own     bool      `json:"own,omitempty"`
	Reason  string    `json:"reason,omitempty"`
}

func (o *ownData) sittings(ctx context.Context) (any, error) { return o.turns(ctx) }

// turns are one's turns with all that moved their clocks. Which patients they
// hold is no part of it: a turn's plan is hidden.
func (o *ownData) turns(ctx context.Context) ([]ownTurn, error) {
	rows, err := o.s.store.TurnsOfPerson(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownTurn{}
	for _, t := range rows {
		a, err := o.s.store.Assignment(ctx, t.Assignment)
		if err != nil && !errors.Is(err, store.ErrNotFound) {
			return nil, err
		}
		deeds, err := o.s.store.ClockDeeds(ctx, t.Assignment)
		if err != nil {
			return nil, err
		}
		row := ownTurn{ID: t.ID, Title: a.Title, Kind: a.Kind, Try: t.Try, Excused: t.Excused, Clock: []ownClock{}}
		for _, d := range deeds {
			if d.Turn == t.ID || d.Person == o.who.ID || d.Turn == "" && d.Person == "" {
				row.Clock = append(row.Clock, ownClock{d.At, d.Kind, d.Minutes, d.Own, d.Reason})
			}
		}
		out = append(out, row)
	}
	return out, nil
}

type ownReview struct {
	Attempt  string     `json:"attempt"`
	Line     string     `json:"line"`
	Asked    time.Time  `json:"asked"`
	Words    string     `json:"words"`
	Answered *time.Time `json:"answered,omitempty"`
	Answer   string     `json:"answer,omitempty"`
	Changed  bool       `json:"mark_changed"`
}

func (o *ownData) reviews(ctx context.Context) (any, error) {
	out := []ownReview{}
	err := o.eachVisit(ctx, func(ctx context.Context, l store.Listed) error {
		asked, err := o.s.store.ReviewsAsked(ctx, l.Transcript)
		if err != nil {
			return err
		}
		for _, r := range asked {
			out = append(out, ownReview{l.ID, r.Line, r.Asked, r.Text, timeOrNone(r.Answered), r.Answer, r.Upheld})
		}
		return nil
	})
	return out, err
}

type ownGrant struct {
	At     time.Time `json:"at"`
	Before string    `json:"before"`
	Then   string    `json:"from_then_on"`
	Reason string    `json:"reason"`
}

func (o *ownData) sounds(ctx context.Context) (any, error) {
	rows, err := o.s.store.Grants(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownGrant{}
	for _, g := range rows {
		out = append(out, ownGrant{g.At, onlyHeard(g.Was), onlyHeard(g.Became), g.Reason})
	}
	return out, nil
}

type ownSession struct {
	Kind     string     `json:"kind"`
	Began    time.Time  `json:"began"`
	LastSeen time.Time  `json:"last_seen"`
	Expires  time.Time  `json:"expires"`
	Ended    *time.Time `json:"ended,omitempty"`
}

func (o *ownData) sessions(ctx context.Context) (any, error) {
	rows, err := o.s.store.SessionsOf(ctx, o.who.ID)
	if err != nil {
		return nil, err
	}
	out := []ownSession{}
	for _, r := range rows {
		kind := "program"
		if r.Kind == string(auth.ForBrowser) {
			kind = "browser"
		}
		out = append(out, ownSession{kind, r.Created, r.LastSeen, r.Expires, timeOrNone(r.Ended)})
	}
	return out, nil
}

type ownNote struct {
	N      int64     `json:"n"`
	At     time.Time `json:"at"`
	By     string    `json:"by"` // yourself, the program, or somebody of the school
	Did    string    `json:"did"`
	About  string    `json:"about"`
	Detail string    `json:"detail,omitempty"`
	Reason string    `json:"reason,omitempty"`
}

func (o *ownData) log(ctx context.Context) (any, error) {
	out := []ownNote{}
	err := o.eachNote(ctx, func(n ownNote) error { out = append(out, n); return nil })
	return out, err
}

// eachNote goes through the notes of what one did and of what was done to one.
// What was done to a visit whose debrief is not released waits until it is.
func (o *ownData) eachNote(ctx context.Context, do func(ownNote) error) error {
	f := store.NoteFilter{People: []string{o.who.ID}, Limit: mostLogged}
	for {
		lines, next, err := o.s.notesBy(ctx, f)
		if err != nil {
			return err
		}
		for _, l := range lines {
			if ok, err := o.mayKnow(ctx, l); err != nil {
				return err
			} else if ok {
				if err := do(o.note(l)); err != nil {
					return err
				}
			}
		}
		if f.Before = next; next == 0 {
			return nil
		}
	}
}

// note is a line of the log as the person whom it is about reads it: of others
// only what they are to the school.
func (o *ownData) note(l logLine) ownNote {
	n := ownNote{N: l.N, At: l.At, By: "somebody of the school", Did: l.Did, About: l.What, Detail: l.Detail, Reason: l.Reason}
	switch {
	case l.ByID == o.who.ID:
		n.By = "yourself"
	case l.ByID == "":
		n.By = "the program"
	}
	if kind, id, _ := strings.Cut(l.About, ":"); kind == "person" && id != o.who.ID {
		n.About, n.Detail, n.Reason = "another person", "", "" // one's own deed, but the other's data
	} else if kind == "transcript" {
		n.About = "a visit of yours"
	}
	if l.Note.Deed == deedHold { // why is between the school and whom it is held for
		n.Reason = ""
	}
	return n
}

// mayKnow keeps what was done to a visit until its debrief is released, and what
// one did to another's visit: that is the other's.
func (o *ownData) mayKnow(ctx context.Context, l logLine) (bool, error) {
	kind, id, _ := strings.Cut(l.About, ":")
	if kind != "transcript" {
		return true, nil
	}
	row, err := o.s.attemptAbout(ctx, id)
	if err != nil || row.Person != o.who.ID {
		return false, err
	}
	return o.s.shown(ctx, o.who, row)
}

package server

import (
	"context"
	"errors"
	"net/http"
	"net/url"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// accountRow is a person in the list.
type accountRow struct {
	face.Person
	Known   bool   // how sounds are given may be told to who reads this
	Sounds  string // ways in which sounds are given besides
	Checked string // when a sound check was last passed
	Change  string // where it is changed; empty: not by who reads this
}

// soundsForm is where the ways in which sounds are given to one person are
// changed, with what was done so far.
type soundsForm struct {
	ID, Name, Reason  string
	Traced, Described bool
	Wrong             string
	Log               []grantRow
}

// grantRow is one deed.
type grantRow struct{ At, By, Was, Became, Reason string }

// accountRows are the people as the list shows them.
func (s *Server) accountRows(all []face.Account, who face.Person) []accountRow {
	rows := make([]accountRow, 0, len(all))
	for _, a := range all {
		row := accountRow{Person: a.Person, Known: a.InReach, Sounds: soundWays(store.Alternatives{Traced: a.Traced, Described: a.Described})}
		if a.SoundCheck != nil {
			row.Checked = s.day(*a.SoundCheck)
		}
		if auth.May(auth.Role(who.Role), auth.GrantSounds) && a.InReach && a.ID != who.ID {
			row.Change = "/people?of=" + url.QueryEscape(a.ID) + "#sounds"
		}
		rows = append(rows, row)
	}
	return rows
}

// soundsForm is the form of one person, as things stand.
func (s *Server) soundsForm(c *gin.Context, id string) (*soundsForm, error) {
	ctx := c.Request.Context()
	a, err := s.account(ctx, person(c), id)
	if err != nil {
		return nil, err
	}
	f := &soundsForm{ID: a.ID, Name: a.Name, Traced: a.Traced, Described: a.Described}
	all, err := s.store.Grants(ctx, id)
	if err != nil {
		return nil, err
	}
	for _, g := range all {
		f.Log = append(f.Log, grantRow{s.day(g.At), s.nameOf(ctx, g.By), onlyHeard(g.Was), onlyHeard(g.Became), g.Reason})
	}
	return f, nil
}

// onlyHeard says how sounds are given, also where there is no other way.
func onlyHeard(a store.Alternatives) string {
	if ways := soundWays(a); ways != "" {
		return ways
	}
	return "heard only"
}

// nameOf is what somebody is called; who is erased has no name.
func (s *Server) nameOf(ctx context.Context, id string) string {
	if p, err := s.store.Person(ctx, id); err == nil && p.Name != "" {
		return p.Name
	}
	return "somebody who is erased"
}

// doGrant takes the form, and shows it again with what was wrong.
func (s *Server) doGrant(c *gin.Context) error {
	ctx, id := c.Request.Context(), c.Param("id")
	want := store.Alternatives{Traced: c.PostForm("traced") != "", Described: c.PostForm("described") != ""}
	reason := c.PostForm("reason")
	changed, err := s.grant(ctx, person(c), id, want, reason)
	if err == nil {
		text := "Nothing was changed: it was so already."
		if changed {
			text = "Changed, and kept with your name and reason. It holds for visits that begin from now on."
		}
		s.notice(c, text)
		return s.redirect(c, "/people?of="+url.QueryEscape(id)+"#sounds")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.peoplePage(c)
	if again != nil {
		return again
	}
	if p.Sounds, again = s.soundsForm(c, id); again != nil {
		return again
	}
	p.Sounds.Traced, p.Sounds.Described, p.Sounds.Reason, p.Sounds.Wrong = want.Traced, want.Described, reason, row.text
	for _, field := range fault.Fields {
		p.Sounds.Wrong += " " + field.Detail
	}
	return s.write(c, row.status, "people", p)
}

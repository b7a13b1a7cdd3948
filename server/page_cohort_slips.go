package server

import (
	"context"
	"errors"
	"net/http"
	"net/url"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// slipsPage is where one-time links are made for a cohort, and printed or sent.
type slipsPage struct {
	Base
	ID, Name      string
	Waiting, All  int // people for whom they can be made
	Mail          bool
	NoAddress     int // of all
	Task          *taskView
	Choice        string
	Slips         []slip // shown this once
	School, Until string
	Days          int
	Address       string // of the page on which a code is typed
	Wrong         string
	One           string // id of the only person that they are made for
}

func (s *Server) showSlips(c *gin.Context) error {
	p, err := s.slipsPage(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.page(c, "slips", p)
}

func (s *Server) slipsPage(ctx context.Context, who face.Person, id string) (*slipsPage, error) {
	row, err := s.teaches(ctx, who, id)
	if err != nil {
		return nil, err
	}
	all, err := s.linkable(ctx, who, id, linkAll)
	if err != nil {
		return nil, err
	}
	p := &slipsPage{Base: Base{Title: "One-time links for " + row.Name}, ID: row.ID, Name: row.Name, All: len(all), Mail: s.mailer != nil,
		Choice: linkWaiting, Days: int(inviteFor.Hours() / 24)}
	if p.Task, err = s.taskView(ctx, taskMail, id); err != nil {
		return nil, err
	}
	for _, m := range all {
		if !m.Chosen {
			p.Waiting++
		}
		if m.Email == "" {
			p.NoAddress++
		}
	}
	if p.Waiting == 0 {
		p.Choice = linkAll
	}
	return p, nil
}

// doSlips makes links and shows them this once, or sends them.
func (s *Server) doSlips(c *gin.Context) error {
	ctx, who, id, choice := c.Request.Context(), person(c), c.Param("id"), c.PostForm("choice")
	p, err := s.slipsPage(ctx, who, id)
	if err != nil {
		return err
	}
	if c.PostForm("deed") == "mail" {
		if _, err = s.mailLinks(ctx, who, id, choice, s.address(c)); err == nil {
			return s.redirect(c, "/cohorts/"+url.PathEscape(id)+"/slips")
		}
	} else {
		err = s.fillSlips(c, p, choice, c.PostForm("person"))
	}
	if err == nil {
		return s.page(c, "slips", p)
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p.Wrong = wrongWords(row, fault)
	return s.write(c, row.status, "slips", p)
}

// fillSlips makes the links and puts them onto the page.
func (s *Server) fillSlips(c *gin.Context, p *slipsPage, choice, one string) error {
	ctx, who := c.Request.Context(), person(c)
	if choice != linkWaiting && choice != linkAll && choice != linkFailed && one == "" {
		return invalid("/choice", "Choose for whom.")
	}
	var err error
	if p.Address = s.address(c); one != "" {
		if _, err := s.memberOf(ctx, who, p.ID, one); err != nil {
			return err
		}
		sl, err := s.linkFor(ctx, who, one, p.Address, p.ID)
		if err != nil {
			return err
		}
		p.Slips, p.One = []slip{sl}, one
	} else {
		people, err := s.linkable(ctx, who, p.ID, choice)
		if err != nil {
			return err
		}
		if len(people) == 0 {
			return &Fault{Kind: ErrInvalid, Text: "There is nobody to whom this applies."}
		}
		if p.Slips, err = s.makeLinks(ctx, who, people, p.Address, p.ID); err != nil {
			return err
		}
	}
	p.Until, p.Address = s.day(p.Slips[0].Until), p.Address+"/join"
	return err
}

func exampleSlips() *slipsPage {
	return &slipsPage{Base: Base{Title: "One-time links", Person: examplePerson("instructor")}, ID: "c1", Name: "Second year", Waiting: 3, All: 5, Mail: true, NoAddress: 1, Choice: linkWaiting, Days: 7,
		Task:  &taskView{By: "Robin Example", Began: "25 Nov 2026, 09:30", Ended: "25 Nov 2026, 09:31", Done: 2, Total: 2, Words: "1 letter was handed to the mail server.", Failed: []failedView{{"Kim Example", "No address is known."}}},
		Slips: []slip{{Person: "person", Name: "Kim Example", Login: "kim", Link: "https://school.example/join?token=ABCDEFGH", Code: "ABCD EFGH"}}, Until: "2 Dec 2026, 09:30", Address: "https://school.example/join", Wrong: "There is nobody."}
}

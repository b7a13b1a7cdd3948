package server

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// whoPage shows the matrix of rights.
type whoPage struct {
	Base
	Roles []string
	Rows  []rightRow
}

// rightRow is one deed and, role by role, whether the role may.
type rightRow struct {
	Deed string
	May  []bool
}

func (s *Server) showWho(c *gin.Context) error {
	p := &whoPage{Base: Base{Title: "Who may what"}}
	for _, role := range auth.Roles() {
		p.Roles = append(p.Roles, string(role))
	}
	for _, rule := range auth.Matrix() {
		row := rightRow{Deed: rule.Label}
		for _, role := range auth.Roles() {
			row.May = append(row.May, slices.Contains(rule.Roles, role))
		}
		p.Rows = append(p.Rows, row)
	}
	return s.page(c, "who", p)
}

// accountForm is what the people page sends.
type accountForm struct{ Login, Name, Role string }

// peoplePage lists the accounts, makes one-time links and changes how sounds are
// given to somebody.
type peoplePage struct {
	Base
	People            []accountRow
	Sounds            *soundsForm // nil: nobody is chosen
	Manage            bool
	Roles             []string
	Login, Name, Role string
	Wrong             string
	Link, Invited     string
	Code, Until       string // of the link: the secret alone in groups, and until when it works
	Find              string
	Pager             pager
	One               *accountView // nil: nobody is chosen, or the reader manages no accounts
}

// accountView is one account, with what a coordinator can change.
type accountView struct {
	face.Person
	Reason, Wrong string
}

func (s *Server) showPeople(c *gin.Context) error {
	p, err := s.peoplePage(c)
	if err != nil {
		return err
	}
	if id := c.Query("of"); id != "" && auth.May(auth.Role(person(c).Role), auth.GrantSounds) {
		if p.Sounds, err = s.soundsForm(c, id); err != nil {
			return err
		}
		if err := s.chooseAccount(c, p, id); err != nil {
			return err
		}
	}
	return s.page(c, "people", p)
}

// chooseAccount puts the account of one person onto the page, for a coordinator.
func (s *Server) chooseAccount(c *gin.Context, p *peoplePage, id string) error {
	if !p.Manage {
		return nil
	}
	one, err := s.accountOf(c.Request.Context(), newMember{Person: id})
	if err != nil {
		return missing("person", err)
	}
	p.One = &accountView{Person: facePerson(one)}
	return nil
}

// doLink makes a fresh one-time link for anybody, and shows it this once.
func (s *Server) doLink(c *gin.Context) error {
	sl, err := s.linkFor(c.Request.Context(), person(c), c.Param("id"), s.address(c), "")
	if err != nil {
		return err
	}
	p, err := s.peoplePage(c)
	if err != nil {
		return err
	}
	p.Link, p.Code, p.Until, p.Invited = sl.Link, sl.Code, s.day(sl.Until), sl.Name
	return s.page(c, "people", p)
}

// doRole gives an account another role.
func (s *Server) doRole(c *gin.Context) error {
	id, role, reason := c.Param("id"), c.PostForm("role"), c.PostForm("reason")
	err := s.chooseRole(c.Request.Context(), person(c), id, role, reason)
	if err == nil {
		s.notice(c, "The role is changed, and kept with your name and reason. It holds from the next page on.")
		return s.redirect(c, "/people?find="+url.QueryEscape(s.loginOf(c, id)))
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	p, again := s.peoplePage(c)
	if again != nil {
		return again
	}
	if again = s.chooseAccount(c, p, id); again != nil {
		return again
	}
	p.One.Reason, p.One.Wrong = reason, wrongWords(row, fault)
	if auth.Role(role).Valid() {
		p.One.Role = role
	}
	return s.write(c, row.status, "people", p)
}

func (s *Server) loginOf(c *gin.Context, id string) string {
	p, err := s.store.Person(c.Request.Context(), id)
	if err != nil {
		return "" // the whole list, then
	}
	return p.Login
}

func (s *Server) doInvite(c *gin.Context) error {
	f := accountForm{Login: strings.TrimSpace(c.PostForm("login")), Name: strings.TrimSpace(c.PostForm("name")), Role: c.PostForm("role")}
	_, link, invited := s.invite(c.Request.Context(), person(c), f.Login, f.Name, auth.Role(f.Role))
	p, err := s.peoplePage(c) // after the invitation, so that the list holds the new person
	if err != nil {
		return err
	}
	if invited == nil {
		p.Link, p.Invited = s.address(c)+link, f.Name
		p.Code, p.Until = inGroups(strings.TrimPrefix(link, joinPath)), s.day(s.now().Add(inviteFor))
		return s.page(c, "people", p)
	}
	row, fault := tell(invited)
	if row.status >= http.StatusInternalServerError {
		return invited
	}
	p.Login, p.Name, p.Role, p.Wrong = f.Login, f.Name, f.Role, row.text
	for _, field := range fault.Fields {
		p.Wrong += " " + field.Detail
	}
	return s.write(c, row.status, "people", p)
}

// address is what stands before a path in a link that is handed to somebody.
func (s *Server) address(c *gin.Context) string {
	switch {
	case s.cfg.URL != "":
		return strings.TrimSuffix(s.cfg.URL, "/")
	case s.secure:
		return "https://" + c.Request.Host
	}
	return "http://" + c.Request.Host
}

func (s *Server) peoplePage(c *gin.Context) (*peoplePage, error) {
	people, err := s.accounts(c.Request.Context(), person(c))
	if err != nil {
		return nil, err
	}
	p := &peoplePage{Base: Base{Title: "People"}, Role: string(auth.Student), Find: c.Query("find")}
	people = slices.DeleteFunc(people, func(a face.Account) bool { return !fits(p.Find, a.Login, a.Name) })
	p.People, p.Pager = paged(s.accountRows(people, person(c)), c.Query("page"), perPage)
	p.Manage = auth.May(auth.Role(person(c).Role), auth.ManagePeople)
	for _, role := range auth.Roles() {
		p.Roles = append(p.Roles, string(role))
	}
	return p, nil
}

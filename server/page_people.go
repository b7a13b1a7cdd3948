package server

import (
	"net/http"
	"slices"
	"strings"

	"dewclaw/server/auth"

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
	}
	return s.page(c, "people", p)
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
	p := &peoplePage{Base: Base{Title: "People"}, People: accountRows(people, person(c)), Role: string(auth.Student)}
	p.Manage = auth.May(auth.Role(person(c).Role), auth.ManagePeople)
	for _, role := range auth.Roles() {
		p.Roles = append(p.Roles, string(role))
	}
	return p, nil
}

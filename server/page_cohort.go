package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"dewclaw/server/auth"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// cohortPage is one cohort with its people.
type cohortPage struct {
	Base
	ID, Name              string
	Archived              string // since when; empty: in use
	Students, Instructors int
	Rows                  []memberRow
	Find                  string
	Pager                 pager
	One                   *memberView // nil: nobody is chosen
	Add                   string      // what was searched for among the accounts
	Found                 []face.Person
	More                  bool // there are more than were found
	Form                  cohortForm
	Wrong                 string
}

// memberRow is one of the people in the list.
type memberRow struct {
	ID, Name, Login, Number, Role string
	Beyond                        string // what the person has beyond the others
	Sounds                        string
	Chosen                        bool // a password
}

// memberView is one of the people, with what can be changed.
type memberView struct {
	memberRow
	Email, Since         string
	Extra, Later, Pauses string
	Reason               string
	Student, Link, Self  bool // Link: this reader may make a one-time link
}

// cohortForm is what the page sends.
type cohortForm struct {
	Deed, Person, Role, Login, Name, Number, Email string
	Confirm, Extra, Later, Pauses, Reason          string
}

func readCohortForm(c *gin.Context) cohortForm {
	word := func(name string) string { return strings.TrimSpace(c.PostForm(name)) }
	return cohortForm{word("deed"), word("person"), word("role"), word("login"), word("name"), word("number"), word("email"),
		word("confirm"), word("extra"), word("later"), word("pauses"), word("reason")}
}

// cohortDeeds are what can be asked of the page: what is said then, and where
// the answer leads besides the cohort's page.
var cohortDeeds = map[string]struct {
	notice string
	do     func(*Server, context.Context, face.Person, string, cohortForm) error
}{
	"rename":      {"The cohort has its new name.", (*Server).formRename},
	"archive":     {"The cohort is archived. Its people and marks stay; bring it back whenever you like.", (*Server).formArchive},
	"bring back":  {"The cohort is in use again.", (*Server).formBring},
	"delete":      {"The cohort is deleted. It can be put back for 30 days, at the end of this page.", (*Server).formDelete},
	"add":         {"Added.", (*Server).formAdd},
	"role":        {"The role is changed. It holds from the next page on.", (*Server).formRole},
	"take out":    {"Taken out of the cohort. Visits and marks stay.", (*Server).formOut},
	"accommodate": {"Kept with your name and reason. It holds at once, also for a sitting that runs.", (*Server).formAccommodate},
}

func (s *Server) formRename(ctx context.Context, who face.Person, id string, f cohortForm) error {
	return s.changeCohort(ctx, who, id, deedRename, f.Name)
}

func (s *Server) formArchive(ctx context.Context, who face.Person, id string, _ cohortForm) error {
	return s.changeCohort(ctx, who, id, deedArchive, "")
}

func (s *Server) formBring(ctx context.Context, who face.Person, id string, _ cohortForm) error {
	return s.changeCohort(ctx, who, id, deedBring, "")
}

func (s *Server) formDelete(ctx context.Context, who face.Person, id string, f cohortForm) error {
	return s.changeCohort(ctx, who, id, deedDelete, f.Confirm)
}

func (s *Server) formAdd(ctx context.Context, who face.Person, id string, f cohortForm) error {
	if f.Person == "" && f.Name == "" {
		return invalid("/name", "A new account needs a login and a name.")
	}
	_, err := s.addMember(ctx, who, id, newMember{f.Person, f.Login, f.Name, f.Number, f.Email, f.Role})
	return err
}

func (s *Server) formRole(ctx context.Context, who face.Person, id string, f cohortForm) error {
	if f.Role == "" {
		return invalid("/role", "student or instructor.")
	}
	return s.changeMember(ctx, who, id, f.Person, f.Role)
}

func (s *Server) formOut(ctx context.Context, who face.Person, id string, f cohortForm) error {
	return s.changeMember(ctx, who, id, f.Person, "")
}

func (s *Server) formAccommodate(ctx context.Context, who face.Person, id string, f cohortForm) error {
	a := store.Accommodation{Cohort: id, Person: f.Person}
	for _, row := range []struct {
		text string
		into *int
	}{{f.Extra, &a.Extra}, {f.Later, &a.Later}, {f.Pauses, &a.Pauses}} {
		n, err := strconv.Atoi(row.text)
		if row.text == "" {
			n, err = 0, nil
		}
		if err != nil {
			n = -1 // said with the others that are out of bounds
		}
		*row.into = n
	}
	return s.accommodate(ctx, who, a, f.Reason)
}

func (s *Server) showCohort(c *gin.Context) error {
	p, err := s.cohortPage(c, c.Query("of"), c.Query("add"))
	if err != nil {
		return err
	}
	return s.page(c, "cohort", p)
}

func (s *Server) doCohort(c *gin.Context) error {
	ctx, id, f := c.Request.Context(), c.Param("id"), readCohortForm(c)
	if _, err := s.teaches(ctx, person(c), id); err != nil {
		return err
	}
	deed, known := cohortDeeds[f.Deed]
	if !known {
		return invalid("/deed", "One of the deeds of the page.")
	}
	err := deed.do(s, ctx, person(c), id, f)
	if err == nil {
		s.notice(c, deed.notice)
		return s.redirect(c, s.afterDeed(ctx, person(c), id, f))
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError || errors.Is(row.kind, ErrMissing) {
		return err
	}
	chosen := f.Person
	if f.Deed == "add" {
		chosen = ""
	}
	p, again := s.cohortPage(c, chosen, "")
	if again != nil {
		return again
	}
	p.wrong(wrongWords(row, fault), f)
	return s.write(c, row.status, "cohort", p)
}

// afterDeed is where a person goes who has done something: to the list, where
// the cohort is not there, or not theirs, any more.
func (s *Server) afterDeed(ctx context.Context, who face.Person, id string, f cohortForm) string {
	path := "/cohorts/" + url.PathEscape(id)
	if _, err := s.teaches(ctx, who, id); err != nil {
		return "/cohorts"
	}
	if f.Deed == "role" || f.Deed == "accommodate" {
		return path + "?of=" + url.QueryEscape(f.Person) + "#person"
	}
	return path
}

// wrong puts what did not go onto the page, with what was typed.
func (p *cohortPage) wrong(text string, f cohortForm) {
	p.Wrong, p.Form = text, f
	if p.One != nil && f.Deed == "accommodate" {
		p.One.Extra, p.One.Later, p.One.Pauses, p.One.Reason = f.Extra, f.Later, f.Pauses, f.Reason
	}
}

func (s *Server) cohortPage(c *gin.Context, of, add string) (*cohortPage, error) {
	ctx, who := c.Request.Context(), person(c)
	row, err := s.teaches(ctx, who, c.Param("id"))
	if err != nil {
		return nil, err
	}
	all, err := s.store.Members(ctx, row.ID)
	if err != nil {
		return nil, err
	}
	beyond, err := s.accommodations(ctx, row.ID)
	if err != nil {
		return nil, err
	}
	p := &cohortPage{Base: Base{Title: row.Name}, ID: row.ID, Name: row.Name, Archived: s.day(row.Archived), Find: c.Query("find"), Add: add}
	p.Form.Name, p.Form.Role = "", string(auth.Student)
	for _, m := range all {
		if p.count(m); fits(p.Find, m.Login, m.Name, m.Number) {
			p.Rows = append(p.Rows, memberRowOf(m, beyond[m.Person]))
		}
		if m.Person == of {
			if p.One, err = s.memberView(ctx, who, m, beyond[m.Person]); err != nil {
				return nil, err
			}
		}
	}
	p.Rows, p.Pager = paged(p.Rows, c.Query("page"), perPage)
	return p, s.search(ctx, p, all)
}

func (p *cohortPage) count(m store.Member) {
	if m.Role == string(auth.Instructor) {
		p.Instructors++
	} else {
		p.Students++
	}
}

// search fills in the accounts that were searched for.
func (s *Server) search(ctx context.Context, p *cohortPage, all []store.Member) error {
	found, more, err := s.findAccounts(ctx, p.Add, all)
	for _, f := range found {
		p.Found = append(p.Found, facePerson(f))
	}
	p.More = more
	return err
}

func (s *Server) accommodations(ctx context.Context, cohort string) (map[string]store.Accommodation, error) {
	all, err := s.store.Accommodations(ctx, cohort)
	if err != nil {
		return nil, fmt.Errorf("accommodations: %w", err)
	}
	out := map[string]store.Accommodation{}
	for _, a := range all {
		out[a.Person] = a
	}
	return out, nil
}

func memberRowOf(m store.Member, a store.Accommodation) memberRow {
	return memberRow{m.Person, m.Name, m.Login, m.Number, m.Role, beyondWords(a), soundWays(m.Alternatives), m.Chosen}
}

// beyondWords say what a student has beyond the others.
func beyondWords(a store.Accommodation) string {
	var parts []string
	if a.Extra > 0 {
		parts = append(parts, fmt.Sprintf("%d %% more time", a.Extra))
	}
	if a.Later > 0 {
		parts = append(parts, "closes "+spanWords(a.Later)+" later")
	}
	if a.Pauses > 0 {
		parts = append(parts, spanWords(a.Pauses)+" of pauses")
	}
	return strings.Join(parts, ", ")
}

// spanWords are minutes as a person says them.
func spanWords(n int) string {
	switch {
	case n >= 60 && n%60 == 0:
		return fmt.Sprintf("%d h", n/60)
	case n > 60:
		return fmt.Sprintf("%d h %d min", n/60, n%60)
	}
	return fmt.Sprintf("%d min", n)
}

func (s *Server) memberView(ctx context.Context, who face.Person, m store.Member, a store.Accommodation) (*memberView, error) {
	v := &memberView{memberRow: memberRowOf(m, a), Email: m.Email, Since: s.day(m.Since), Student: m.Role == string(auth.Student), Self: m.Person == who.ID,
		Extra: strconv.Itoa(a.Extra), Later: strconv.Itoa(a.Later), Pauses: strconv.Itoa(a.Pauses)}
	p, err := s.store.Person(ctx, m.Person)
	if err != nil {
		return nil, err
	}
	err = s.mayLink(ctx, who, p)
	if v.Link = err == nil && !v.Self; errors.Is(err, ErrMissing) {
		err = nil
	}
	return v, err
}

package server

import (
	"errors"
	"html/template"
	"net/http"
	"net/url"
	"strings"

	"dewclaw/web"

	"github.com/gin-gonic/gin"
)

// loginForm is what the sign-in page sends.
type loginForm struct{ Login, Password, Next string }

// loginPage is the sign-in page.
type loginPage struct {
	Base
	Login, Next, Wrong string
	Animal             template.HTML
}

func (s *Server) showLogin(c *gin.Context) error {
	next := localPath(c.Query("next"))
	if person(c).ID != "" {
		return s.redirect(c, next)
	}
	return s.page(c, "login", &loginPage{Base: Base{Title: "Sign in"}, Next: next, Animal: plainAnimal()})
}

func (s *Server) doLogin(c *gin.Context) error {
	f := loginForm{Login: c.PostForm("login"), Password: c.PostForm("password"), Next: localPath(c.PostForm("next"))}
	err := s.signIn(c, strings.TrimSpace(f.Login), f.Password)
	if err == nil {
		return s.redirect(c, f.Next)
	}
	if !errors.Is(err, ErrLogin) && !errors.Is(err, ErrSlow) {
		return err
	}
	s.logSignIn(c)
	row, _ := tell(err)
	p := &loginPage{Base: Base{Title: "Sign in"}, Login: f.Login, Next: f.Next, Wrong: row.title + ". " + row.text, Animal: plainAnimal()}
	return s.write(c, row.status, "login", p)
}

func (s *Server) doLogout(c *gin.Context) error {
	if err := s.signOut(c); err != nil {
		return err
	}
	return s.redirect(c, "/login")
}

// localPath keeps the way back inside this server: a path, never another host.
func localPath(next string) string {
	u, err := url.Parse(next)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(u.Path, "//") || strings.ContainsAny(next, "\\\r\n") {
		return "/"
	}
	return u.RequestURI()
}

// plainAnimal is the drawing that greets at the door.
func plainAnimal() template.HTML {
	return web.Animal(web.Drawing{Species: "dog", Title: "A standing dog, drawn in ink"})
}

// setupForm is what the page of a one-time link sends.
type setupForm struct{ Token, Name, Login, Password string }

// setupPage makes the first account of a school, or lets an invited person
// choose a password.
type setupPage struct {
	Base
	Token, Name, Login    string
	Intro, Button, Action string
	Wrong                 string
	AskName               bool
	AskCode               bool // no link yet: the code of a slip is asked for
	Animal                template.HTML
}

// firstPage is the page of the first-start link.
func firstPage(f setupForm) *setupPage {
	return &setupPage{
		Base: Base{Title: "The first account"}, Token: f.Token, Name: f.Name, Login: f.Login, AskName: true, Animal: plainAnimal(),
		Intro:  "This school has nobody yet. You become its coordinator: you invite instructors and students, and keep the settings.",
		Button: "Make the account", Action: "/setup",
	}
}

// joinPage is the page of an invited person's link.
func joinPage(f setupForm) *setupPage {
	return &setupPage{
		Base: Base{Title: "Choose your password"}, Token: f.Token, Animal: plainAnimal(),
		Intro:  "The link works once. Afterwards you sign in with your login and this password.",
		Button: "Keep this password", Action: "/join",
	}
}

// codePage asks for the code of a printed slip.
func codePage() *setupPage {
	return &setupPage{
		Base: Base{Title: "Type the code of your slip"}, AskCode: true, Animal: plainAnimal(), Action: "/join", Button: "Go on",
		Intro: "Somebody gave you a slip with a code in groups of four letters and digits. Spaces and small letters do not matter. If you have a link, open it whole.",
	}
}

// closedPage tells that a link has no use any more.
func closedPage(title, intro string) *setupPage {
	return &setupPage{Base: Base{Title: title}, Intro: intro, Animal: plainAnimal()}
}

func (s *Server) showSetup(c *gin.Context) error {
	needed, err := s.setupNeeded(c.Request.Context())
	if err != nil {
		return err
	}
	if !needed {
		return s.page(c, "setup", closedPage("Already set up", "This school has its coordinator. Further accounts are made by invitation."))
	}
	token := c.Query("token")
	if token == "" {
		return s.page(c, "setup", closedPage("The link is not whole", "Open the first-start link just as the server printed it, with everything after the question mark."))
	}
	return s.page(c, "setup", firstPage(setupForm{Token: token}))
}

func (s *Server) doSetup(c *gin.Context) error {
	f := readSetup(c)
	if err := s.setUp(c, f.Token, f.Login, f.Name, f.Password); err != nil {
		return s.setupAgain(c, firstPage(f), err)
	}
	return s.redirect(c, "/")
}

func (s *Server) showJoin(c *gin.Context) error {
	token := c.Query("token")
	if token == "" {
		return s.page(c, "setup", codePage())
	}
	return s.page(c, "setup", joinPage(setupForm{Token: token}))
}

func (s *Server) doJoin(c *gin.Context) error {
	f := readSetup(c)
	if err := s.join(c, f.Token, f.Password); err != nil {
		return s.setupAgain(c, joinPage(f), err)
	}
	return s.redirect(c, "/")
}

func readSetup(c *gin.Context) setupForm {
	return setupForm{
		Token: c.PostForm("token"), Name: strings.TrimSpace(c.PostForm("name")),
		Login: strings.TrimSpace(c.PostForm("login")), Password: c.PostForm("password"),
	}
}

// setupAgain shows the form again where the person can mend what is wrong.
func (s *Server) setupAgain(c *gin.Context, p *setupPage, err error) error {
	row, f := tell(err)
	if row.status >= http.StatusInternalServerError {
		return err
	}
	p.Wrong = row.text
	for _, field := range f.Fields {
		p.Wrong += " " + field.Detail
	}
	return s.write(c, row.status, "setup", p)
}

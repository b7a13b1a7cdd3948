// Package server is Dewclaw over HTTP: pages for people and /api/v1 for
// programs, both on the same functions.
//
// # Rooms in this package
//
//   - server.go: Config, New, Handler, Serve, Close. Every field of Config works at its zero value.
//   - routes.go: every route, in one table: method, path, who may, page or api, handler
//     (those of the pages stand in page_routes.go, which it takes in).
//   - errors.go: the only place that picks a status. Handlers return errors.
//   - render.go: the page table and the buffered renderer.
//   - middleware.go: request ids, limits, security headers, who is asking.
//   - session.go, people.go: signing in, one-time links, accounts.
//   - attempts.go, act.go, live.go, media.go, sheet.go: what a visit is made of.
//     debrief.go is the one place that opens what was there, for a graded visit.
//   - stored.go: a visit goes on with the case, catalogue and rubric that it began with.
//   - shelf.go: the rubrics, the school's own files laid over ours. regrade.go, regrade_marks.go:
//     marking visits anew by a newer version. weighings.go: what a rubric really weighs.
//   - worker.go: grades in the background; attempts in state "grading" are the queue.
//   - opaque.go: ids that say nothing. robots.go: visits played without HTTP.
//   - api_*.go: the JSON side. page_*.go: the pages, each with its form and its page struct.
//
// # Writing a page
//
// A handler is a func(s *Server, c *gin.Context) error, put into the table in
// routes.go. It asks the functions below, fills its page struct and ends with
//
//	return s.page(c, "cases", &casesPage{Base: Base{Title: "Patients"}, Cases: rows})
//
// Every page struct embeds Base. s.page fills Base.Person, Base.Path,
// Base.Static and Base.Notice, executes the page's own template set into a
// buffer and only then writes, so that a template error is a clean 500. The
// page table in page_table.go has one row a page: name, template files (below
// web/templates), and a filled example of the struct. The test executes every
// page with its example and with the struct's zero value, and fails on a
// template file that no row names.
//
//	type Base struct { Title, Path, Static, Notice string; Person face.Person; Wide bool }
//
// # What pages and API share
//
//	person(c) face.Person                                   // zero ID: nobody is signed in
//	s.signIn(c, login, password) error                      // sets the cookie; ErrLogin, ErrSlow
//	s.signOut(c) error
//	s.listCases(ctx, who) ([]face.Patient, error)           // for practice, as students see them
//	s.staffCases(ctx, who) ([]face.StaffCase, ...)          // instructors and coordinators only
//	s.visits(ctx, who) ([]face.Visit, error)                // own; staff: everybody's
//	s.start(ctx, who, patientID, track) (face.Attempt, error)
//	s.attempt(ctx, who, id) (face.Attempt, error)           // own only; anything else is ErrMissing
//	s.act(ctx, visitor, id, after, retry, rubric.Act) (face.Answer, error)
//	s.line(species, text, near) ([]rubric.Act, error)       // the typed line
//	s.sweep(ctx, who, id, region) (face.Sweep, error)
//	s.finish(ctx, who, id) (face.Attempt, error)
//	s.report(ctx, who, id) (face.Report, error)             // ErrMissing until it may be seen
//	s.catalogue(species) (*face.Catalogue, error)           // labels: c.Step(id).Label, c.Value(field, value)
//	s.setupNeeded(ctx) (bool, error); s.setUp(c, token, login, name, password) error
//	s.accounts(ctx, who) ([]face.Account, error); s.grant(ctx, by, id, store.Alternatives, reason) (changed bool, err error)
//	s.askCheck(who) soundCheck; s.answerCheck(ctx, who, check, beats, deep) (heard, error)
//	s.people(ctx) ([]face.Person, error); s.invite(ctx, by, login, name, auth.Role) (face.Person, link string, error)
//	s.join(c, token, password) error                        // the one-time link of an invited person
//	s.notice(c, text)                                       // shown on the next page, once
//	s.redirect(c, path) error                               // 303 See Other
//
// A page redirects to /login?next=PATH by itself where the table says that
// somebody must be signed in. Scripts call /api/v1 with the same cookie.
//
// # Errors
//
// ErrMissing, ErrLogin, ErrSlow, ErrForbidden, ErrInvalid and the others in
// errors.go are matched with errors.Is. A *Fault carries the public text and
// the members that are wrong (Fault.Fields: pointer and detail), so that a form
// can say them beside its inputs; return any other error as it is.
package server

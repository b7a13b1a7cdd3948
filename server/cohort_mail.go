package server

import (
	"context"
	"fmt"

	"dewclaw/server/face"
	"dewclaw/server/store"
)

const taskMail = "mail"

// mailLinks begins to send fresh links to the people of a cohort, as chosen, in
// the background. Addresses are those of the roster and no others.
func (s *Server) mailLinks(ctx context.Context, who face.Person, cohort, choice, address string) (int, error) {
	if s.mailer == nil {
		return 0, &Fault{Kind: ErrNotNow, Text: "This server sends no mail. Print slips, or ask whoever runs it to name a mail server."}
	}
	people, err := s.linkable(ctx, who, cohort, choice)
	if err != nil {
		return 0, err
	}
	if len(people) == 0 {
		return 0, &Fault{Kind: ErrInvalid, Text: "There is nobody to whom this applies."}
	}
	return len(people), s.startTask(ctx, taskMail, cohort, who.ID, len(people), func(ctx context.Context, t *task) (string, error) {
		return s.postLinks(ctx, t, who, people, address, cohort)
	})
}

// postLinks sends one letter after the other over one connection, which it opens
// again where it broke. What failed is told person by person.
func (s *Server) postLinks(ctx context.Context, t *task, who face.Person, people []store.Member, address, cohort string) (string, error) {
	var p *courier
	defer func() {
		if p != nil {
			p.close()
		}
	}()
	sent := 0
	for _, m := range people {
		why := ""
		switch {
		case ctx.Err() != nil:
			why = mailRefusal(context.Canceled)
		case m.Email == "":
			why = "No address is known. Put it on the roster, or print a slip."
		case !mailable(m.Email):
			why = "The address cannot be written to. Mend it on the roster, or print a slip."
		default:
			var err error
			if p, err = s.postLink(ctx, p, who, m, address, cohort); err != nil {
				s.log.Warn("a letter was not sent", "code", mailCode(err)) // what the server said may name somebody
				why = mailRefusal(err)
			}
		}
		t.change(func(st *taskState) {
			if st.Done++; why != "" {
				st.Failed = append(st.Failed, taskProblem{m.Person, why})
			}
		})
		if why == "" {
			sent++
		}
	}
	return fmt.Sprintf("%s handed to the mail server.", were(sent, "letter")), nil
}

// postLink sends one letter. The link is made only once the line stands, so that
// a mail server that is down makes nobody's earlier link stop working. It returns
// the connection for the next; nil: to be opened anew.
func (s *Server) postLink(ctx context.Context, p *courier, who face.Person, m store.Member, address, cohort string) (*courier, error) {
	if p == nil {
		var err error
		if p, err = s.mailer.open(ctx); err != nil {
			return nil, err
		}
	}
	slips, err := s.makeLinks(ctx, who, []store.Member{m}, address, cohort)
	if err != nil {
		return p, err
	}
	text, err := linkLetter(slips[0], s.day(slips[0].Until)).write(*s.mailer.from, s.now())
	if err != nil {
		return p, err
	}
	if err := p.send(m.Email, text); err != nil {
		if p.client.Noop() != nil {
			_ = p.client.Close() // the line is broken already
			p = nil
		}
		return p, err
	}
	return p, nil
}

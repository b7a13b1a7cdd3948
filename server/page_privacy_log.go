package server

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"

	"github.com/gin-gonic/gin"
)

// logPage shows who did what, to what, when and why.
type logPage struct {
	Base
	Query  logQuery
	Wrong  string
	Kinds  []deedRow
	Deeds  []deedRow
	Lines  []logRow
	Older  string // address of the next page; empty: this is the last
	Newest string // of the first one; empty: this is it
	File   string // of the same as a file
	Whole  bool   // the reader sees the whole log
	Zone   string
	Filter bool // something is looked for
}

// logRow is one line of the log on its page.
type logRow struct {
	N                                             int64
	At, Who, Did, What, Of, Where, Detail, Reason string
}

func (s *Server) showLog(c *gin.Context) error {
	ctx, q := c.Request.Context(), logQueryOf(c)
	q.Limit = ""
	p := &logPage{Base: Base{Title: "Log"}, Query: q, Kinds: aboutKinds, Deeds: logDeeds, Whole: person(c).Role == "coordinator", Zone: s.zoneWords(s.now())}
	lines, next, err := s.readLog(ctx, person(c), q)
	row, fault := tell(err)
	if err != nil && !errors.Is(err, ErrInvalid) {
		return err
	}
	for _, l := range lines {
		p.Lines = append(p.Lines, logRow{l.N, l.At.In(s.zone()).Format("2 Jan 2006, 15:04:05"), l.Who, l.Did, l.What, l.About, l.Where, l.Detail, l.Reason})
	}
	p.Filter = q.Who+q.About+q.Of+q.Deed+q.From+q.To != ""
	p.link(next)
	if err != nil {
		p.Wrong = wrongWords(row, fault)
		return s.write(c, row.status, "log", p)
	}
	return s.write(c, http.StatusOK, "log", p)
}

// link makes the addresses of the other pages and of the file.
func (p *logPage) link(next int64) {
	v := url.Values{}
	for name, text := range map[string]string{"who": p.Query.Who, "about": p.Query.About, "of": p.Query.Of, "deed": p.Query.Deed, "from": p.Query.From, "to": p.Query.To} {
		if text != "" {
			v.Set(name, text)
		}
	}
	to := func(path string) string {
		if len(v) == 0 {
			return path
		}
		return path + "?" + v.Encode()
	}
	p.File = to("/log/csv")
	if p.Query.Before != "" {
		p.Newest = to("/log")
	}
	if next != 0 {
		v.Set("before", strconv.FormatInt(next, 10))
		p.Older = to("/log")
	}
}

func exampleLog() *logPage {
	of := "person:" + "a2b3c4d5e6f7a2b3c4d5e6f7a2"
	p := &logPage{Base: Base{Title: "Log"}, Kinds: aboutKinds, Deeds: logDeeds, Query: logQuery{Who: "robin", Deed: deedHold, Before: "90"}, Zone: "UTC", Filter: true, Whole: true, Wrong: "Not valid.",
		Lines: []logRow{{87, "25 Nov 2026, 09:00:00", "Robin Example", didWords(deedHold), "Kim Example", of, "cohort Second year", "student", "An appeal is open."}}}
	p.link(80)
	return p
}

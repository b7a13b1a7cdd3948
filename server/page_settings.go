package server

import (
	"net/http"
	"strings"

	"github.com/gin-gonic/gin"
)

// settingsForm is what the settings page sends: id of the setting to id of its option.
type settingsForm map[string]string

// settingsPage lists what the school settles for all its pages.
type settingsPage struct {
	Base
	Rows  []settingRow
	Wrong string
}

// settingRow is one setting with its options.
type settingRow struct {
	ID, Label, Help string
	Options         []settingOption
	Typed           bool   // a text, not one of the options
	Value           string // of one that is typed
	Such            string // examples of what may be typed
}

// settingOption is one way to settle it.
type settingOption struct {
	ID, Label string
	Chosen    bool
}

func (s *Server) showSettings(c *gin.Context) error {
	return s.page(c, "settings", settingsPageOf(s.school()))
}

func settingsPageOf(now settled) *settingsPage {
	p := &settingsPage{Base: Base{Title: "Settings"}}
	for _, set := range settings {
		row := settingRow{ID: set.id, Label: set.label, Help: set.help, Typed: set.check != nil, Value: now.of(set.id)}
		if row.Typed {
			var such []string
			for _, o := range set.options {
				such = append(such, o.id)
			}
			row.Such = strings.Join(such, ", ")
			p.Rows = append(p.Rows, row)
			continue
		}
		for _, o := range set.options {
			row.Options = append(row.Options, settingOption{o.id, o.label, now.of(set.id) == o.id})
		}
		p.Rows = append(p.Rows, row)
	}
	return p
}

func (s *Server) doSettings(c *gin.Context) error {
	f := settingsForm{}
	for _, row := range settings {
		if v, given := c.GetPostForm(row.id); given {
			f[row.id] = strings.TrimSpace(v)
		}
	}
	err := s.changeSettings(c.Request.Context(), person(c), f)
	if err == nil {
		s.notice(c, "The settings are saved. They hold from now on, also for debriefs of earlier visits.")
		return s.redirect(c, "/settings")
	}
	row, fault := tell(err)
	if row.status >= http.StatusInternalServerError {
		return err
	}
	p := settingsPageOf(s.school())
	for i := range p.Rows {
		if v, given := f[p.Rows[i].ID]; given && p.Rows[i].Typed {
			p.Rows[i].Value = v
		}
	}
	p.Wrong = row.text
	for _, field := range fault.Fields {
		p.Wrong += " " + field.Detail + "."
	}
	return s.write(c, row.status, "settings", p)
}

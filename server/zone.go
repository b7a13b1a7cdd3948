package server

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"sync"
	"time"
	_ "time/tzdata" // zones work also where the system has no database of them

	"dewclaw/server/store"
)

// zoneSetting is the setting that names the school's time zone.
const zoneSetting = "zone"

// longestZone is more than the longest name of the IANA database has.
const longestZone = 64

// zones are those that were looked up; the database has some 600 names.
var zones sync.Map

// zoneNamed is a zone of the IANA time zone database. The machine's own zone has
// no name there, so that it is none.
func zoneNamed(name string) (*time.Location, error) {
	if z, ok := zones.Load(name); ok {
		return z.(*time.Location), nil
	}
	if name == "" || name == "Local" || len(name) > longestZone {
		return nil, errors.New("the name of a zone is needed")
	}
	z, err := time.LoadLocation(name)
	if err != nil {
		return nil, fmt.Errorf("no zone of that name: %w", err)
	}
	zones.Store(name, z)
	return z, nil
}

func checkZone(name string) error {
	if _, err := zoneNamed(name); err != nil {
		return errors.New("no zone of the IANA database has this name; right would be a name such as Europe/Vienna, as it is written there")
	}
	return nil
}

// openZone settles the time zone of a school that has not chosen one.
func (s *Server) openZone(ctx context.Context) error {
	if s.cfg.Zone == "" {
		return nil
	}
	if err := checkZone(s.cfg.Zone); err != nil {
		return fmt.Errorf("the time zone %q: %w", s.cfg.Zone, err)
	}
	chosen, err := s.store.Setting(ctx, zoneSetting)
	switch {
	case errors.Is(err, store.ErrNotFound):
		return s.store.SetSetting(ctx, zoneSetting, s.cfg.Zone)
	case err != nil:
		return fmt.Errorf("the time zone: %w", err)
	case chosen != s.cfg.Zone:
		s.log.Info("the time zone stays as it was chosen under Settings", "chosen", chosen, "told", s.cfg.Zone)
	}
	return nil
}

// ZoneKnown says whether a name is one of the IANA time zone database; nil: it is.
func ZoneKnown(name string) error { return checkZone(name) }

// zone is the school's time zone; UTC until another is chosen.
func (s *Server) zone() *time.Location {
	z, err := zoneNamed(s.school().of(zoneSetting))
	if err != nil {
		return time.UTC
	}
	return z
}

// moment is a moment as a person reads it, in the school's zone; empty: not yet.
func (s *Server) moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.In(s.zone()).Format("Mon 2 Jan 2006, 15:04")
}

// day is a moment without the day of the week, in a zone; empty: not yet.
func day(t time.Time, z *time.Location) string {
	if t.IsZero() {
		return ""
	}
	return t.In(z).Format("2 Jan 2006, 15:04")
}

// day is a moment as a list shows it, in the school's zone.
func (s *Server) day(t time.Time) string { return day(t, s.zone()) }

// zoneWords name the school's zone with the clock's offset at a moment, for it
// changes with the season.
func (s *Server) zoneWords(at time.Time) string {
	z := s.zone()
	if z == time.UTC {
		return "UTC"
	}
	offset := strings.Replace(at.In(z).Format("-07:00"), "-", "−", 1)
	return fmt.Sprintf("%s (UTC%s)", z, offset)
}

package store

import (
	"bytes"
	"compress/flate"
	"context"
	"database/sql"
	"fmt"
	"io"
	"strings"
	"time"

	"gorm.io/gorm"
)

// domains are the parts of a grade that have columns of their own, so that a
// cohort's figures are read without unpacking a report: NAME_points, NAME_max.
var domains = [...]string{"order", "completeness", "findings", "vitals", "handling", "conclusions"}

// maxReport is the largest report that is unpacked, in bytes.
const maxReport = 16 << 20

// Report is a stored grade. Points are thousandths of a point of 100.
type Report struct {
	Engine   string
	Graded   time.Time // set by SaveReport
	Total    int64
	Pass     bool
	Critical int      // number of critical events
	Held     []string // codes: why a person must look before release
	Domains  []Mark   // order, completeness, findings, vitals, handling, conclusions
	Packed   Hidden   // the whole report as the engine encodes it; stored compressed
}

// Mark is one domain's points.
type Mark struct {
	ID          string
	Points, Max int64
}

// markColumns are the columns that markScan reads.
func markColumns(prefix string) string {
	columns := []string{"engine", "graded", "total", "pass", "critical", "held"}
	for _, d := range domains {
		columns = append(columns, d+"_points", d+"_max")
	}
	return prefix + strings.Join(columns, ", "+prefix)
}

// markScan takes the columns of markColumns, all NULL where there is no report.
type markScan struct {
	engine, held                  sql.NullString
	graded, total, pass, critical sql.NullInt64
	points                        [2 * len(domains)]sql.NullInt64
}

func (m *markScan) dest() []any {
	to := []any{&m.engine, &m.graded, &m.total, &m.pass, &m.critical, &m.held}
	for i := range m.points {
		to = append(to, &m.points[i])
	}
	return to
}

func (m *markScan) report() *Report {
	if !m.engine.Valid {
		return nil
	}
	r := &Report{Engine: m.engine.String, Graded: fromMicros(m.graded.Int64), Total: m.total.Int64,
		Pass: m.pass.Int64 != 0, Critical: int(m.critical.Int64), Held: strings.Fields(m.held.String)}
	for i, d := range domains {
		r.Domains = append(r.Domains, Mark{ID: d, Points: m.points[2*i].Int64, Max: m.points[2*i+1].Int64})
	}
	return r
}

// values are the columns of markColumns.
func (r Report) values() ([]any, error) {
	pass := 0
	if r.Pass {
		pass = 1
	}
	values := []any{r.Engine, micros(r.Graded), r.Total, pass, r.Critical, strings.Join(r.Held, " ")}
	marks := map[string]Mark{}
	for _, m := range r.Domains {
		marks[m.ID] = m
	}
	if len(marks) != len(r.Domains) || len(marks) > len(domains) {
		return nil, fmt.Errorf("%w: a domain twice, or too many", ErrInvalid)
	}
	for _, d := range domains {
		values = append(values, marks[d].Points, marks[d].Max)
		delete(marks, d)
	}
	for id := range marks {
		return nil, fmt.Errorf("%w: no column for domain %q", ErrInvalid, id)
	}
	return values, nil
}

// SaveReport stores the grade of a finished attempt, in place of an earlier
// one. ErrConflict: the attempt is still open.
func (s *Store) SaveReport(ctx context.Context, transcript int64, r Report) error {
	r.Graded = s.now()
	values, err := r.values()
	if err != nil {
		return fmt.Errorf("save report: %w", err)
	}
	packed, err := pack(r.Packed)
	if err != nil {
		return fmt.Errorf("save report: %w", err)
	}
	insert := "INSERT INTO reports (transcript, " + markColumns("") + ", packed) VALUES " + marks(1, len(values)+2)
	return s.inWrite(ctx, "save report", func(tx *gorm.DB) error {
		moved := tx.Model(&Attempt{}).Where("transcript = ? AND state <> ?", transcript, StateOpen).Update("state", StateGraded)
		if moved.Error != nil {
			return moved.Error
		}
		if moved.RowsAffected == 0 {
			return missingOrOpen(tx, transcript)
		}
		if err := tx.Exec("DELETE FROM reports WHERE transcript = ?", transcript).Error; err != nil {
			return err
		}
		return tx.Exec(insert, append(append([]any{transcript}, values...), packed)...).Error
	})
}

func missingOrOpen(tx *gorm.DB, transcript int64) error {
	if err := tx.Where("transcript = ?", transcript).Take(&Attempt{}).Error; err != nil {
		return err
	}
	return fmt.Errorf("%w: the attempt is still open", ErrConflict)
}

// Report returns the grade of an attempt; ErrNotFound: it has none yet.
func (s *Store) Report(ctx context.Context, transcript int64) (Report, error) {
	var m markScan
	var packed []byte
	err := s.queryRow(ctx, "SELECT "+markColumns("")+", packed FROM reports WHERE transcript = ?", transcript).
		Scan(append(m.dest(), &packed)...)
	if err != nil {
		return Report{}, wrap("report", err)
	}
	r := m.report()
	if r.Packed, err = unpack(packed); err != nil {
		return Report{}, fmt.Errorf("report: %w", err)
	}
	return *r, nil
}

func pack(data []byte) ([]byte, error) {
	if len(data) > maxReport {
		return nil, fmt.Errorf("%w: a report is at most %d bytes", ErrInvalid, maxReport)
	}
	var b bytes.Buffer
	w, err := flate.NewWriter(&b, flate.DefaultCompression)
	if err != nil {
		return nil, err
	}
	if _, err := w.Write(data); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

func unpack(packed []byte) ([]byte, error) {
	data, err := io.ReadAll(io.LimitReader(flate.NewReader(bytes.NewReader(packed)), maxReport+1))
	if err == nil && len(data) > maxReport {
		err = fmt.Errorf("unpacks to more than %d bytes", maxReport)
	}
	if err != nil {
		return nil, fmt.Errorf("the stored report is damaged: %w", err)
	}
	return data, nil
}

package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
)

// Examined is what Examine found.
type Examined struct {
	Schema                       int64
	Tables                       int
	Rows                         int64
	Attempts, Acts, Texts, Notes int64
	Problems
}

// Problems are sentences, of which the first are kept and all are counted.
type Problems struct {
	Count int
	First []string
}

// MostProblems are kept.
const MostProblems = 50

// Add adds one.
func (p *Problems) Add(text string) {
	if p.Count++; p.Count <= MostProblems {
		p.First = append(p.First, text)
	}
}

// mustHold are what no database of ours may show: each selects sentences about
// rows that break a promise of this package.
var mustHold = []string{
	`SELECT 'transcript ' || transcript || ': it has ' || COUNT(*) || ' acts, numbered ' || MIN(n) || ' to ' || MAX(n) || '; some are missing'
		FROM acts GROUP BY transcript HAVING MIN(n) <> 1 OR MAX(n) <> COUNT(*)`,
	`SELECT 'transcript ' || a.transcript || ': it is marked and has no report'
		FROM attempts a LEFT JOIN reports r ON r.transcript = a.transcript WHERE a.state = 'graded' AND r.transcript IS NULL`,
	`SELECT 'transcript ' || a.transcript || ': it has a report and is ' || a.state
		FROM attempts a JOIN reports r ON r.transcript = a.transcript WHERE a.state <> 'graded'`,
	`SELECT 'transcript ' || transcript || ': it is open and has an end, or is over and has none'
		FROM attempts WHERE (state = 'open' AND finished <> 0) OR (state <> 'open' AND finished = 0)`,
	`SELECT 'the counter of transcripts stands at ' || c.value || ', and there is a transcript ' || (SELECT MAX(transcript) FROM attempts)
		FROM counters c WHERE c.name = 'transcript' AND c.value < (SELECT MAX(transcript) FROM attempts)`,
	`SELECT 'the log: ' || (SELECT COUNT(*) FROM audit) || ' entries, numbered to ' || (SELECT COALESCE(MAX(n), 0) FROM audit) || ', and its counter stands at ' || c.value
		FROM counters c WHERE c.name = 'audit' AND ((SELECT COUNT(*) FROM audit) <> c.value OR (SELECT COALESCE(MAX(n), 0) FROM audit) <> c.value)`,
}

// counted are the figures of Examined.
func (e *Examined) counted() []struct {
	to  *int64
	sql string
} {
	return []struct {
		to  *int64
		sql string
	}{
		{&e.Attempts, "SELECT COUNT(*) FROM attempts"},
		{&e.Acts, "SELECT COUNT(*) FROM acts"},
		{&e.Texts, "SELECT COUNT(*) FROM content"},
		{&e.Notes, "SELECT COUNT(*) FROM audit"},
	}
}

// Examine reads the whole database as it is at one moment and holds it against
// what this package promises: nothing damaged, no act missing, every text the
// one of its hash, every report readable, no entry of the log taken out. What it
// cannot read is a problem too; an error is returned where nothing can be said.
func (s *Store) Examine(ctx context.Context) (e Examined, err error) {
	if err := s.Current(ctx); err != nil {
		return e, err
	}
	tx, err := pool(s.read).BeginTx(ctx, s.words.snapshot)
	if err != nil {
		return e, wrap("examine", err)
	}
	defer func() { err = errors.Join(err, ignoreDone(tx.Rollback())) }()
	for _, row := range e.counted() {
		if err := tx.QueryRowContext(ctx, row.sql).Scan(row.to); err != nil {
			e.unreadable(row.sql, err)
		}
	}
	for _, query := range append(s.words.flaws, mustHold...) {
		sentences, err := column1(ctx, tx, query)
		for _, text := range sentences {
			e.Add(text)
		}
		if err != nil {
			e.unreadable(query, err)
		}
	}
	e.texts(ctx, tx)
	e.reports(ctx, tx)
	if err := tx.Rollback(); err != nil {
		return e, wrap("examine", err)
	}
	s.readAll(ctx, &e)
	return e, ctx.Err()
}

// unreadable is a problem that a query met.
func (e *Examined) unreadable(query string, err error) {
	e.Add(fmt.Sprintf("the database cannot be read (%v) by %.60s", err, query))
}

// texts holds every text against its hash.
func (e *Examined) texts(ctx context.Context, tx *sql.Tx) {
	const query = "SELECT hash, bytes FROM content"
	err := twoColumns(ctx, tx, query, func(hash string, text []byte) {
		if sum := sha256.Sum256(text); hex.EncodeToString(sum[:]) != hash {
			e.Add("text " + hash + ": what is stored is another text")
		}
	})
	if err != nil {
		e.unreadable(query, err)
	}
}

// reports unpacks every report, also those of before and after a marking anew.
func (e *Examined) reports(ctx context.Context, tx *sql.Tx) {
	for _, table := range []string{"reports", ReportsBefore, ReportsAfter} {
		query := "SELECT '' || transcript, packed FROM " + table
		err := twoColumns(ctx, tx, query, func(transcript string, packed []byte) {
			if _, err := unpack(packed); err != nil {
				e.Add(fmt.Sprintf("%s of transcript %s: %v", table, transcript, err))
			}
		})
		if err != nil {
			e.unreadable(query, err)
		}
	}
}

func twoColumns(ctx context.Context, tx *sql.Tx, query string, do func(a string, b []byte)) error {
	rows, err := tx.QueryContext(ctx, query)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var a string
		var b sql.RawBytes
		if err := rows.Scan(&a, &b); err != nil {
			return err
		}
		do(a, b)
	}
	return rows.Err()
}

// readAll reads every row of every table, as a backup does.
func (s *Store) readAll(ctx context.Context, e *Examined) {
	m, err := s.Backup(ctx, io.Discard, BackupOptions{Keys: true})
	if err != nil {
		e.Add(err.Error())
	}
	e.Schema, e.Tables, e.Rows = m.Schema, len(m.Tables), m.Rows()
}

// Graded returns attempts that are marked, with transcripts above after, in order.
func (s *Store) Graded(ctx context.Context, after int64, limit int) (all []Attempt, err error) {
	err = s.read.WithContext(ctx).Where("state = ? AND transcript > ?", StateGraded, after).Order("transcript").Limit(limit).Find(&all).Error
	return all, wrap("graded", err)
}

// The tables of reports that a marking anew keeps.
const (
	ReportsBefore = "earlier_reports"
	ReportsAfter  = "later_reports"
)

// KeptReport is a visit's report of before or after a marking anew, with the key
// that it was made by.
type KeptReport struct {
	Regrading  string
	Transcript int64
	Key        Hidden
	Report     Report
}

// KeptReports returns those of one of the two tables that come after another, in order.
func (s *Store) KeptReports(ctx context.Context, table string, after KeptReport, limit int) (all []KeptReport, err error) {
	rows, err := s.query(ctx, "SELECT regrading, transcript, answer_key, "+markColumns("")+", packed FROM "+table+
		" WHERE (regrading, transcript) > (?, ?) ORDER BY regrading, transcript LIMIT ?", after.Regrading, after.Transcript, limit)
	if err != nil {
		return nil, wrap("kept reports", err)
	}
	defer rows.Close()
	for rows.Next() {
		var k KeptReport
		var m markScan
		var packed []byte
		if err := rows.Scan(append(append([]any{&k.Regrading, &k.Transcript, &k.Key}, m.dest()...), &packed)...); err != nil {
			return nil, wrap("kept reports", err)
		}
		k.Report = *m.report()
		if k.Report.Packed, err = unpack(packed); err != nil {
			k.Report.Packed = nil // Examine tells it
		}
		all = append(all, k)
	}
	return all, wrap("kept reports", rows.Err())
}

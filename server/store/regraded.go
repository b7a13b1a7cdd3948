package store

import (
	"context"
	"database/sql"
)

// RegradeSummary counts what a regrading changes, or changed.
type RegradeSummary struct {
	Visits      int // that were marked anew
	Refused     int // that could not be
	Changed     int // with at least one changed mark
	Totals      int // with another total
	ToPass      int // come to pass
	ToFail      int // no longer pass
	Sum         int64
	Least, Most int64 // the largest loss and gain of one visit, thousandths of a point
	OtherEngine int   // were marked by another version of the engine before
	InForce     int   // whose new report is in force
}

// RegradeSummary counts what a regrading changes so far.
func (s *Store) RegradeSummary(ctx context.Context, id string) (m RegradeSummary, err error) {
	err = s.queryRow(ctx, `SELECT
		COALESCE(SUM(CASE WHEN refused = '' THEN 1 ELSE 0 END), 0), COALESCE(SUM(CASE WHEN refused <> '' THEN 1 ELSE 0 END), 0),
		COALESCE(SUM(CASE WHEN marks > 0 THEN 1 ELSE 0 END), 0), COALESCE(SUM(CASE WHEN delta <> 0 THEN 1 ELSE 0 END), 0),
		COALESCE(SUM(CASE WHEN turn = 1 THEN 1 ELSE 0 END), 0), COALESCE(SUM(CASE WHEN turn = -1 THEN 1 ELSE 0 END), 0),
		COALESCE(SUM(delta), 0), COALESCE(MIN(delta), 0), COALESCE(MAX(delta), 0),
		COALESCE(SUM(engines), 0), COALESCE(SUM(CASE WHEN place = ? THEN 1 ELSE 0 END), 0)
		FROM regraded WHERE regrading = ?`, placeInForce, id).
		Scan(&m.Visits, &m.Refused, &m.Changed, &m.Totals, &m.ToPass, &m.ToFail, &m.Sum, &m.Least, &m.Most, &m.OtherEngine, &m.InForce)
	return m, wrap("regrade summary", err)
}

// RegradedVisit is one visit of a regrading.
type RegradedVisit struct {
	Listed   // without Mark
	Refused  string
	Marks    int
	InForce  bool
	CaseHash string
	Catalog  string // hash of the catalogue
	Earlier  *Report
	Later    *Report
}

// ChangedVisits returns the visits of which a mark changes, with both reports:
// first those that come to pass or no longer pass, then by how far the total
// moves. Offset and limit choose a page; limit is at most 100.
func (s *Store) ChangedVisits(ctx context.Context, id string, offset, limit int) (all []RegradedVisit, err error) {
	rows, err := s.query(ctx, `SELECT a.transcript, a.id, a.person, COALESCE(n.name, ''), a.case_id, a.track, a.case_hash,
		a.catalogue_hash, a.alternatives, g.marks, g.place, `+markColumns("e.")+", e.packed, "+markColumns("l.")+`, l.packed
		FROM (SELECT transcript, marks, place, turn, delta FROM regraded WHERE regrading = ? AND (marks > 0 OR turn <> 0)
			ORDER BY ABS(turn) DESC, ABS(delta) DESC, transcript LIMIT ? OFFSET ?) g
		JOIN attempts a ON a.transcript = g.transcript LEFT JOIN names n ON n.person = a.person
		JOIN earlier_reports e ON e.regrading = ? AND e.transcript = g.transcript
		JOIN later_reports l ON l.regrading = ? AND l.transcript = g.transcript
		ORDER BY ABS(g.turn) DESC, ABS(g.delta) DESC, g.transcript`, id, max(1, min(limit, 100)), max(0, offset), id, id)
	if err != nil {
		return nil, wrap("changed visits", err)
	}
	defer rows.Close()
	for rows.Next() {
		v, err := scanRegraded(rows)
		if err != nil {
			return nil, wrap("changed visits", err)
		}
		all = append(all, v)
	}
	return all, wrap("changed visits", rows.Err())
}

func scanRegraded(rows *sql.Rows) (v RegradedVisit, err error) {
	var earlier, later markScan
	var before, after []byte
	var place int
	dest := []any{&v.Transcript, &v.ID, &v.Person, &v.Name, &v.Case, &v.Track, &v.CaseHash, &v.Catalog, &v.Sounds, &v.Marks, &place}
	dest = append(append(dest, earlier.dest()...), &before)
	dest = append(append(dest, later.dest()...), &after)
	if err := rows.Scan(dest...); err != nil {
		return v, err
	}
	v.InForce, v.Earlier, v.Later = place == placeInForce, earlier.report(), later.report()
	if v.Earlier.Packed, err = unpack(before); err != nil {
		return v, err
	}
	v.Later.Packed, err = unpack(after)
	return v, err
}

// RefusedVisits returns the first visits that could not be marked anew, with the reason.
func (s *Store) RefusedVisits(ctx context.Context, id string, limit int) (all []RegradedVisit, err error) {
	rows, err := s.query(ctx, `SELECT a.transcript, a.id, a.person, COALESCE(n.name, ''), a.case_id, g.refused
		FROM regraded g JOIN attempts a ON a.transcript = g.transcript LEFT JOIN names n ON n.person = a.person
		WHERE g.regrading = ? AND g.refused <> '' ORDER BY g.transcript LIMIT ?`, id, max(1, min(limit, 100)))
	if err != nil {
		return nil, wrap("refused visits", err)
	}
	defer rows.Close()
	for rows.Next() {
		var v RegradedVisit
		if err := rows.Scan(&v.Transcript, &v.ID, &v.Person, &v.Name, &v.Case, &v.Refused); err != nil {
			return nil, wrap("refused visits", err)
		}
		all = append(all, v)
	}
	return all, wrap("refused visits", rows.Err())
}

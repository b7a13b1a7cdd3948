package store

import (
	"cmp"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"
	"sync"
	"sync/atomic"
	"time"
)

// groupMost is the most acts in one commit.
const groupMost = 256

// Appended is the answer to Append.
type Appended struct {
	Act     Act  // the row as it is stored
	Earlier bool // it was stored by an earlier try of the same request
}

// Stats counts what the writer did since Open.
type Stats struct {
	Waiting int   // acts that wait now
	Acts    int64 // acts stored
	Groups  int64 // commits that stored them
	Alone   int64 // groups that failed and were written act by act
}

// Group is a commit of acts: how many it holds, and how long the commit itself
// took, which on SQLite is the flush of the disk.
type Group struct {
	Acts   int
	Commit time.Duration
}

// writer is the one goroutine that appends acts. It takes whatever waits, at
// most one act a transcript, and commits it together: under load a flush of the
// disk is shared, and a lone act waits for nobody.
type writer struct {
	db      *sql.DB
	words   words
	observe func(Group) // nil: nobody looks
	most    int
	mu      sync.Mutex
	wake    *sync.Cond // work came, or shut was set
	waiting []*waiter
	shut    bool
	ended   chan struct{}
	states  statements // one attempt's state and last number a tuple
	inserts statements

	acts, groups, alone atomic.Int64
}

// waiter is an act and whoever waits for its answer.
type waiter struct {
	row  Act
	done chan answer // takes one
}

type answer struct {
	appended Appended
	err      error
}

// Append stores the next act of an open attempt. On return without an error it
// is on the disk. ErrTaken: another act has this number. ErrGap: the one before
// is missing. ErrRetryReused: this retry text came with another request.
// ErrClosed: the attempt is finished. ErrNotFound: no such transcript. ErrBusy:
// too much waits already.
//
// A context that ends while the act still waits takes it out of the queue: it is
// not stored. Once it is being written Append stays for the answer. After any
// other error the act may or may not be stored, as after a lost connection;
// asking again with the same retry text settles it.
func (s *Store) Append(ctx context.Context, n NewAct) (Appended, error) {
	row, err := n.row(s.now())
	if err != nil {
		return Appended{}, fmt.Errorf("append: %w", err)
	}
	if err := ctx.Err(); err != nil {
		return Appended{}, fmt.Errorf("append: %w", err)
	}
	w := &waiter{row: row, done: make(chan answer, 1)}
	writer := s.writerOf(row.Transcript)
	if err := writer.enqueue(w); err != nil {
		return Appended{}, fmt.Errorf("append: %w", err)
	}
	select {
	case a := <-w.done:
		return a.appended, wrap("append", a.err)
	case <-ctx.Done():
		if writer.withdraw(w) {
			return Appended{}, fmt.Errorf("append: %w", ctx.Err())
		}
		a := <-w.done
		return a.appended, wrap("append", a.err)
	}
}

// Stats returns what the writer did since Open.
func (s *Store) Stats() Stats {
	var all Stats
	for _, w := range s.writers {
		w.mu.Lock()
		all.Waiting += len(w.waiting)
		w.mu.Unlock()
		all.Acts += w.acts.Load()
		all.Groups += w.groups.Load()
		all.Alone += w.alone.Load()
	}
	return all
}

func newWriter(ctx context.Context, db *sql.DB, most int, words words, observe func(Group)) (*writer, error) {
	w := &writer{db: db, most: most, words: words, observe: observe, ended: make(chan struct{})}
	w.wake = sync.NewCond(&w.mu)
	err := errors.Join(
		w.states.prepare(ctx, db, func(n int) string {
			return words.bind(`SELECT transcript, state, COALESCE((SELECT MAX(n) FROM acts WHERE acts.transcript = attempts.transcript), 0)
				FROM attempts WHERE transcript IN ` + marks(1, n) + words.hold)
		}),
		w.inserts.prepare(ctx, db, func(n int) string {
			return words.bind("INSERT INTO acts (" + actColumns + ") VALUES " + marks(n, 8))
		}))
	if err != nil {
		return nil, errors.Join(err, w.states.close(), w.inserts.close())
	}
	go w.run()
	return w, nil
}

func (w *writer) enqueue(one *waiter) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch {
	case w.shut:
		return ErrShut
	case len(w.waiting) >= w.most:
		return ErrBusy
	}
	w.waiting = append(w.waiting, one)
	w.wake.Signal()
	return nil
}

// withdraw takes a waiter out of the queue; false: it is being written.
func (w *writer) withdraw(one *waiter) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	i := slices.Index(w.waiting, one)
	if i < 0 {
		return false
	}
	w.waiting = slices.Delete(w.waiting, i, i+1)
	return true
}

// close lets the goroutine write what waits, and waits for it.
func (w *writer) close() {
	w.mu.Lock()
	w.shut = true
	w.wake.Signal()
	w.mu.Unlock()
	<-w.ended
}

func (w *writer) run() {
	defer close(w.ended)
	defer func() { _ = errors.Join(w.states.close(), w.inserts.close()) }() // the pool closes next
	for {
		group := w.take()
		if group == nil {
			return
		}
		w.commit(group)
	}
}

// take returns the next group, in the order of arrival; a second act of a
// transcript stays for the next one. It blocks while nothing waits, and returns
// nil once the writer is shut and nothing is left.
func (w *writer) take() []*waiter {
	w.mu.Lock()
	defer w.mu.Unlock()
	for len(w.waiting) == 0 {
		if w.shut {
			return nil
		}
		w.wake.Wait()
	}
	var group, rest []*waiter
	seen := make(map[int64]bool, min(len(w.waiting), groupMost))
	for _, one := range w.waiting {
		if len(group) == groupMost || seen[one.row.Transcript] {
			rest = append(rest, one)
			continue
		}
		seen[one.row.Transcript] = true
		group = append(group, one)
	}
	w.waiting = rest
	return group
}

// commit writes a group and answers each of its waiters. Where the group fails
// because of something in it, the acts are written one by one, so that only the
// bad one is told so. Where the machine fails, one by one would fail as well,
// and slowly; then reading says which acts are stored all the same.
func (w *writer) commit(group []*waiter) {
	answers, err := w.try(group)
	for again := 1; again < 3 && kindOf(err) == ErrDuplicate; again++ {
		answers, err = w.try(group) // another process was first with some act; now it can be read
	}
	switch {
	case err == nil:
		for i, one := range group {
			one.done <- answers[i]
		}
	case len(group) > 1 && !machineFailed(err):
		w.alone.Add(1)
		for i := range group {
			w.commit(group[i : i+1])
		}
	default:
		for _, one := range group {
			one.done <- w.settle(one, err)
		}
	}
}

// machineFailed reports whether an error has nothing to do with what was written.
func machineFailed(err error) bool {
	kind := kindOf(err)
	return kind == ErrBusy || kind == ErrFull || kind == ErrReadOnly || isIO(err) || errors.Is(err, context.DeadlineExceeded)
}

// settle answers after a failure of which it is not known whether it came before
// or after the commit: what stands at the number says so.
func (w *writer) settle(one *waiter, err error) answer {
	ctx, cancel := w.context()
	defer cancel()
	stored, missing := actAt(ctx, w.db, w.words, one.row.Transcript, one.row.N)
	if missing != nil {
		return answer{err: err}
	}
	return standing(stored, one.row)
}

// standing answers an act whose number is stored already.
func standing(stored, asked Act) answer {
	switch {
	case stored.Retry != asked.Retry:
		return answer{err: ErrTaken}
	case string(stored.request) != string(asked.request):
		return answer{err: ErrRetryReused}
	}
	return answer{appended: Appended{Act: stored, Earlier: true}}
}

// try writes a group in one transaction; an error means that nobody was answered.
func (w *writer) try(group []*waiter) (answers []answer, err error) {
	ctx, cancel := w.context()
	defer cancel()
	tx, err := w.db.BeginTx(ctx, nil)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, ignoreDone(tx.Rollback()))
		}
	}()
	last, err := w.lastNumbers(ctx, tx, group)
	if err != nil {
		return nil, err
	}
	answers = make([]answer, len(group))
	var fresh []Act
	for i, one := range group {
		at, known := last[one.row.Transcript]
		if answers[i], err = w.judge(ctx, tx, one.row, at, known); err != nil {
			return nil, err
		}
		if answers[i].err == nil && !answers[i].appended.Earlier {
			fresh = append(fresh, one.row)
		}
	}
	if len(fresh) == 0 {
		return answers, tx.Rollback()
	}
	if err := w.insert(ctx, tx, fresh); err != nil {
		return nil, err
	}
	begun := time.Now()
	if err := tx.Commit(); err != nil {
		return nil, err
	}
	if w.observe != nil {
		w.observe(Group{len(fresh), time.Since(begun)})
	}
	w.acts.Add(int64(len(fresh)))
	w.groups.Add(1)
	return answers, nil
}

// context is not a caller's: one that left must not undo the others.
func (w *writer) context() (context.Context, context.CancelFunc) {
	if w.words.patience == 0 {
		return context.WithCancel(context.Background())
	}
	return context.WithTimeout(context.Background(), w.words.patience)
}

// progress is how far an attempt is.
type progress struct {
	state string
	last  int // the number of its last act, 0: none
}

func (w *writer) lastNumbers(ctx context.Context, tx *sql.Tx, group []*waiter) (map[int64]progress, error) {
	all := make(map[int64]progress, len(group))
	err := w.states.each(len(group), func(stmt *sql.Stmt, from, to int) error {
		args := make([]any, 0, to-from)
		for _, one := range group[from:to] {
			args = append(args, one.row.Transcript)
		}
		rows, err := tx.StmtContext(ctx, stmt).QueryContext(ctx, args...)
		if err != nil {
			return err
		}
		defer rows.Close()
		for rows.Next() {
			var transcript int64
			var p progress
			if err := rows.Scan(&transcript, &p.state, &p.last); err != nil {
				return err
			}
			all[transcript] = p
		}
		return rows.Err()
	})
	return all, err
}

// judge says what becomes of one act, given how far its attempt is. An answer
// without an error and not Earlier is to be inserted.
func (w *writer) judge(ctx context.Context, tx *sql.Tx, row Act, at progress, known bool) (answer, error) {
	switch {
	case !known:
		return answer{err: ErrNotFound}, nil
	case row.N <= at.last: // also of a finished attempt: the answer may have got lost
		stored, err := actAt(ctx, tx, w.words, row.Transcript, row.N)
		if err != nil {
			return answer{}, err
		}
		return standing(stored, row), nil
	case at.state != StateOpen:
		return answer{err: ErrClosed}, nil
	case row.N > at.last+1:
		return answer{err: ErrGap}, nil
	}
	return answer{appended: Appended{Act: row}}, nil
}

// insert goes in the order of transcripts, so that two processes that wait for
// each other's acts do so one way round.
func (w *writer) insert(ctx context.Context, tx *sql.Tx, rows []Act) error {
	slices.SortFunc(rows, func(a, b Act) int { return cmp.Compare(a.Transcript, b.Transcript) })
	return w.inserts.each(len(rows), func(stmt *sql.Stmt, from, to int) error {
		args := make([]any, 0, 8*(to-from))
		for _, row := range rows[from:to] {
			args = append(args, row.values()...)
		}
		_, err := tx.StmtContext(ctx, stmt).ExecContext(ctx, args...)
		return err
	})
}

func ignoreDone(err error) error {
	if errors.Is(err, sql.ErrTxDone) {
		return nil
	}
	return err
}

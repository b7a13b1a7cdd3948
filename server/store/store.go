package store

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"net/url"
	"reflect"
	"strconv"
	"strings"
	"time"

	"gorm.io/driver/sqlite"
	"gorm.io/gorm"
	"gorm.io/gorm/logger"
	"gorm.io/gorm/schema"
	_ "modernc.org/sqlite" // registers the pure-Go driver as "sqlite"
)

// driverName is the pure-Go driver's. gorm's SQLite dialect would take a driver
// that needs a C compiler.
const driverName = "sqlite"

// Config says where and how to open a store. Every field but Path works at its
// zero value.
type Config struct {
	URL        string           // sqlite:PATH or postgres://...; empty: the file at Path
	Path       string           // the SQLite file; it and its folder are made where missing
	Now        func() time.Time // nil: time.Now
	Readers    int              // connections that only read; 0: 4
	Writers    int              // connections that append acts, on PostgreSQL; 0: 4
	Observe    func(Group)      // called after each commit of acts, by the writer, which waits for it; nil: nobody looks
	MaxWaiting int              // acts that may wait for a writer before Append says ErrBusy; 0: 8192
}

// writeConnections is how many connections write what is not acts, where the
// database takes more than one. Transactions of inWrite go one by one; the others
// are for what does without.
const writeConnections = 4

// Store is an open database. It is safe for concurrent use. On SQLite all writing
// goes through one connection, as it has one writer; reading through others.
// On PostgreSQL acts go through some connections of their own, a transcript
// always through the same, and several processes may share the database.
type Store struct {
	dialect dialect
	words   words
	now     func() time.Time
	write   *gorm.DB
	read    *gorm.DB
	acts    []*sql.DB     // the writers' own; none where they share write
	writers []*writer     // which of them: by transcript
	gate    chan struct{} // holds one: what runs in inWrite
	unseen  []string      // tables that were too large to be looked at when it was opened
}

// Open opens the database, makes it where there is none, and brings an older
// schema up to date after copying the file beside itself. The errors that a
// person can do something about say what, in one sentence.
func Open(ctx context.Context, c Config) (*Store, error) {
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Readers <= 0 {
		c.Readers = 4
	}
	if c.MaxWaiting <= 0 {
		c.MaxWaiting = 8192
	}
	d, err := choose(c)
	if err != nil {
		return nil, err
	}
	if err := d.prepare(ctx); err != nil {
		return nil, err
	}
	unseen, err := d.look(ctx, nil, lookWithin)
	if err != nil {
		return nil, d.explain(err)
	}
	s := &Store{gate: make(chan struct{}, 1), dialect: d, unseen: unseen, words: d.words(), now: func() time.Time { return c.Now().UTC().Truncate(time.Microsecond) }}
	if err := s.connect(ctx, c); err != nil {
		return nil, errors.Join(d.explain(err), s.Close())
	}
	return s, nil
}

func (s *Store) connect(ctx context.Context, c Config) (err error) {
	if s.write, err = s.dialect.connect(writes, writeConnections); err != nil {
		return err
	}
	if err := s.dialect.migrate(ctx, pool(s.write), s.now()); err != nil {
		return err
	}
	if err := s.dialect.guard(ctx, pool(s.write)); err != nil {
		return err
	}
	if s.read, err = s.dialect.connect(reads, c.Readers); err != nil {
		return err
	}
	return s.startWriters(ctx, c)
}

// startWriters starts one writer on the pool of the other writes, or one for each shard on a
// connection of its own.
func (s *Store) startWriters(ctx context.Context, c Config) error {
	n := s.words.shards
	if n > 1 && c.Writers > 0 {
		n = c.Writers
	}
	for range n {
		db := pool(s.write)
		if s.words.shards > 1 {
			own, err := s.dialect.connect(acts, 1)
			if err != nil {
				return err
			}
			db = pool(own)
			s.acts = append(s.acts, db)
		}
		w, err := newWriter(ctx, db, c.MaxWaiting, s.words, c.Observe)
		if err != nil {
			return err
		}
		s.writers = append(s.writers, w)
	}
	return nil
}

// writerOf is the writer of a transcript's acts.
func (s *Store) writerOf(transcript int64) *writer {
	return s.writers[uint64(transcript)%uint64(len(s.writers))]
}

// connect opens a pool of so many connections. Pragmas are a connection's own,
// so they stand in the DSN.
func connect(path string, most int, options ...string) (*gorm.DB, error) {
	q := url.Values{
		"_busy_timeout": {"5000"}, // ms
		"_journal_mode": {"WAL"},
		"_synchronous":  {"FULL"}, // a commit is on the disk when it returns
		"_foreign_keys": {"1"},
		"_dqs":          {"0"}, // a misspelt "column" is an error, not a text
	}
	for i := 0; i+1 < len(options); i += 2 {
		q.Set(options[i], options[i+1])
	}
	db, err := gorm.Open(sqlite.Dialector{DriverName: driverName, DSN: dsn(path, q)}, &gorm.Config{
		Logger:                 logger.Discard, // its lines would hold values
		SkipDefaultTransaction: true,           // inWrite opens them where they are needed
	})
	if err != nil {
		return nil, err
	}
	pool(db).SetMaxOpenConns(most)
	pool(db).SetMaxIdleConns(most)
	return db, nil
}

// dsn escapes the path, so that a folder called "a?b" stays a folder.
func dsn(path string, q url.Values) string {
	return (&url.URL{Scheme: "file", Path: path, RawQuery: q.Encode()}).String()
}

// pool returns the connections under a gorm.DB. gorm has them as the interface
// it was given; here it is always a *sql.DB.
func pool(db *gorm.DB) *sql.DB { return db.Config.ConnPool.(*sql.DB) }

// Close writes what still waits and closes the database. Later calls of Append
// are ErrShut.
func (s *Store) Close() error {
	var errs []error
	for _, w := range s.writers {
		w.close()
	}
	for _, db := range s.acts {
		errs = append(errs, db.Close())
	}
	for _, db := range []*gorm.DB{s.read, s.write} {
		if db != nil {
			errs = append(errs, pool(db).Close())
		}
	}
	return errors.Join(errs...)
}

// Ready reports whether the database answers and has the schema that this
// program knows.
func (s *Store) Ready(ctx context.Context) error {
	var version int64
	err := pool(s.read).QueryRowContext(ctx, "SELECT MAX(version_id) FROM goose_db_version").Scan(&version)
	if err != nil {
		return wrap("ready", err)
	}
	if want := newestMigration(migrationFiles); version != want {
		return fmt.Errorf("ready: the database has schema %d, this program knows %d", version, want)
	}
	return nil
}

// Now is the store's clock: UTC, whole microseconds.
func (s *Store) Now() time.Time { return s.now() }

// inWrite runs f in one transaction, after every other of its, whichever process
// it runs in: f may look first and write then. f must use nothing but tx: there
// may be no second connection to wait for. An error of the database ends it; f
// cannot go on after one.
func (s *Store) inWrite(ctx context.Context, op string, f func(tx *gorm.DB) error) error {
	select { // one of them waits for the database, and acts wait for one of them at most
	case s.gate <- struct{}{}:
		defer func() { <-s.gate }()
	case <-ctx.Done():
		return wrap(op, ctx.Err())
	}
	return wrap(op, s.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		if s.words.first != "" {
			if err := tx.Exec(s.words.first).Error; err != nil {
				return err
			}
		}
		return f(tx)
	}))
}

// micros is how a time is stored: microseconds since 1970, 0 for the zero time.
func micros(t time.Time) int64 {
	if t.IsZero() {
		return 0
	}
	return t.UnixMicro()
}

func fromMicros(n int64) time.Time {
	if n == 0 {
		return time.Time{}
	}
	return time.UnixMicro(n).UTC()
}

// microsSerializer lets gorm store a time.Time that way.
type microsSerializer struct{}

func init() { schema.RegisterSerializer("micros", microsSerializer{}) }

// Scan sets a field from the stored number.
func (microsSerializer) Scan(ctx context.Context, field *schema.Field, dst reflect.Value, v any) error {
	n, ok := v.(int64)
	if !ok && v != nil {
		return fmt.Errorf("%s: a time in microseconds expected, got %T", field.Name, v)
	}
	field.ReflectValueOf(ctx, dst).Set(reflect.ValueOf(fromMicros(n)))
	return nil
}

// Value returns the number to store.
func (microsSerializer) Value(_ context.Context, field *schema.Field, _ reflect.Value, v any) (any, error) {
	t, ok := v.(time.Time)
	if !ok {
		return nil, fmt.Errorf("%s: a time expected, got %T", field.Name, v)
	}
	return micros(t), nil
}

// newID returns 130 random bits as lower-case text.
func newID() string { return strings.ToLower(rand.Text()) }

// digest is what is stored of a secret text (a session id, a token): whoever
// reads the database cannot use it.
func digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// marks returns "(?,?),(?,?)": rows tuples of n placeholders.
func marks(rows, n int) string {
	tuple := "(" + strings.Repeat("?,", n-1) + "?)"
	return strings.Repeat(tuple+",", rows-1) + tuple
}

// sqliteAtLeast compares a version text such as 3.51.3 with a wanted one.
func sqliteAtLeast(version string, want [3]int) bool {
	for i, part := range strings.SplitN(version+".0.0", ".", 4)[:3] {
		n, err := strconv.Atoi(part)
		if err != nil || n != want[i] {
			return err == nil && n > want[i]
		}
	}
	return true
}

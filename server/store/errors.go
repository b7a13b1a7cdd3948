package store

import (
	"database/sql"
	"errors"
	"fmt"

	"gorm.io/gorm"
	"modernc.org/sqlite"
	lib "modernc.org/sqlite/lib"
)

// What callers can tell apart. Each is wrapped with the operation that met it.
var (
	ErrNotFound    = errors.New("not found")
	ErrDuplicate   = errors.New("there is one already")
	ErrConflict    = errors.New("in the way of something else that is stored") // a missing or still needed neighbour row
	ErrInvalid     = errors.New("not a value that can be stored")
	ErrText        = errors.New("a zero byte, or bytes that are no text, which PostgreSQL does not keep as text")
	ErrTaken       = errors.New("this number is taken by another act")
	ErrGap         = errors.New("this number is not the next one")
	ErrRetryReused = errors.New("this retry text came before with another act")
	ErrClosed      = errors.New("the attempt is finished and takes no more acts")
	ErrUsed        = errors.New("used already")
	ErrExpired     = errors.New("expired")
	ErrLast        = errors.New("the last one stays")
	ErrBusy        = errors.New("the database is busy; try again")
	ErrShut        = errors.New("the store is closed")
	ErrReadOnly    = errors.New("the database cannot be written")
	ErrFull        = errors.New("the disk is full")
	ErrDamaged     = errors.New("a page of the database is damaged")
	ErrNotOurs     = errors.New("not a Dewclaw database")
	ErrNewer       = errors.New("the database was written by a newer Dewclaw")
	ErrOldSQLite   = errors.New("this SQLite is too old")
	ErrOldServer   = errors.New("this PostgreSQL is too old")
	ErrURL         = errors.New("not the URL of a database")
	ErrNoSchema    = errors.New("no schema to work in")
	ErrNoEntry     = errors.New("user or password refused")
	ErrNoDatabase  = errors.New("no such database")
	ErrInUse       = errors.New("there is data in it")
	ErrBackup      = errors.New("not a backup of Dewclaw that can be read")
	ErrSchema      = errors.New("the database has another schema")
)

// codes translates SQLite's result codes; gorm knows only those of another
// driver. An extended code is looked up before its primary one (the low byte).
var codes = map[int]error{
	lib.SQLITE_CONSTRAINT_UNIQUE:     ErrDuplicate,
	lib.SQLITE_CONSTRAINT_PRIMARYKEY: ErrDuplicate,
	lib.SQLITE_CONSTRAINT_ROWID:      ErrDuplicate,
	lib.SQLITE_CONSTRAINT_FOREIGNKEY: ErrConflict,
	lib.SQLITE_CONSTRAINT:            ErrInvalid,
	lib.SQLITE_TOOBIG:                ErrInvalid,
	lib.SQLITE_BUSY:                  ErrBusy,
	lib.SQLITE_LOCKED:                ErrBusy,
	lib.SQLITE_READONLY:              ErrReadOnly,
	lib.SQLITE_PERM:                  ErrReadOnly,
	lib.SQLITE_CANTOPEN:              ErrReadOnly,
	lib.SQLITE_FULL:                  ErrFull,
	lib.SQLITE_NOTADB:                ErrNotOurs,
	lib.SQLITE_CORRUPT:               ErrDamaged,
}

// wrap says which operation failed and puts our sentinel for it into the chain.
// The driver's text stays in the chain for the log; it holds no values.
func wrap(op string, err error) error {
	if err == nil {
		return nil
	}
	if kind := kindOf(err); kind != nil && !errors.Is(err, kind) {
		return fmt.Errorf("%s: %w (%w)", op, kind, err)
	}
	return fmt.Errorf("%s: %w", op, err)
}

// kindOf finds the sentinel for a driver's or gorm's error; nil: none fits.
func kindOf(err error) error {
	if errors.Is(err, gorm.ErrRecordNotFound) || errors.Is(err, sql.ErrNoRows) {
		return ErrNotFound
	}
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return serverKindOf(err)
	}
	if kind, ok := codes[e.Code()]; ok {
		return kind
	}
	return codes[e.Code()&0xff]
}

// isIO reports whether the disk failed.
func isIO(err error) bool {
	var e *sqlite.Error
	return errors.As(err, &e) && e.Code()&0xff == lib.SQLITE_IOERR
}

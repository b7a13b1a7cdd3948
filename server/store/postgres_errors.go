package store

import (
	"database/sql/driver"
	"errors"
	"io"
	"net"

	"github.com/jackc/pgx/v5/pgconn"
)

// serverCodes translates PostgreSQL's codes (appendix A of its manual). A code
// is looked up before its class, which is its first two characters.
var serverCodes = map[string]error{
	"23505": ErrDuplicate,  // unique_violation
	"23503": ErrConflict,   // foreign_key_violation
	"23001": ErrConflict,   // restrict_violation
	"23":    ErrInvalid,    // integrity constraints
	"22021": ErrText,       // character_not_in_repertoire
	"22P05": ErrText,       // untranslatable_character
	"22":    ErrInvalid,    // a value that its column cannot hold
	"40":    ErrBusy,       // deadlock, serialization
	"55P03": ErrBusy,       // lock_not_available
	"25P03": ErrBusy,       // idle_in_transaction_session_timeout
	"57":    ErrBusy,       // somebody interfered
	"08":    ErrBusy,       // connection
	"53100": ErrFull,       // disk_full
	"53":    ErrBusy,       // too many connections, out of memory
	"25006": ErrReadOnly,   // read_only_sql_transaction
	"42501": ErrReadOnly,   // insufficient_privilege
	"28":    ErrNoEntry,    // invalid user or password
	"3D000": ErrNoDatabase, // no such database
	"3F000": ErrNoSchema,   // no such schema
}

// serverKindOf finds the sentinel for an error of a PostgreSQL server or of the
// way to it; nil: none fits.
func serverKindOf(err error) error {
	var e *pgconn.PgError
	if errors.As(err, &e) {
		if kind, ok := serverCodes[e.Code]; ok {
			return kind
		}
		return serverCodes[e.Code[:min(2, len(e.Code))]]
	}
	var refused *pgconn.ConnectError
	var broken *net.OpError
	if errors.As(err, &refused) || errors.As(err, &broken) || errors.Is(err, driver.ErrBadConn) || errors.Is(err, pgconn.ErrConnClosed) ||
		errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, net.ErrClosed) {
		return ErrBusy
	}
	return nil
}

package store

import (
	"database/sql/driver"
	"fmt"
	"log/slog"

	"dewclaw/rubric"
)

// Hidden is bytes that no student may see: a seed, a compiled key, an outcome,
// a report that is not released. It refuses to be written as JSON and prints as
// [hidden]; []byte(h) opens it.
type Hidden []byte

// MarshalJSON refuses.
func (Hidden) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] whatever the verb.
func (Hidden) Format(f fmt.State, _ rune) { _, _ = f.Write([]byte("[hidden]")) }

// LogValue logs [hidden].
func (Hidden) LogValue() slog.Value { return slog.StringValue("[hidden]") }

// Value gives the bytes to the database.
func (h Hidden) Value() (driver.Value, error) { return []byte(h), nil }

// Scan takes the bytes from the database.
func (h *Hidden) Scan(v any) error {
	switch v := v.(type) {
	case nil:
		*h = nil
	case []byte:
		*h = append(Hidden(nil), v...) // the driver reuses its bytes
	default:
		return fmt.Errorf("hidden bytes expected, got %T", v)
	}
	return nil
}

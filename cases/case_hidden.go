package cases

import (
	"fmt"
	"io"
	"log/slog"

	"dewclaw/rubric"
)

// What a case holds must not reach a student by way of a log line or a body:
// these types refuse to be marshalled and print [hidden].

// MarshalJSON refuses: a case is hidden.
func (Case) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Case) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Case) LogValue() slog.Value { return slog.StringValue(hidden) }

// MarshalJSON refuses: a truth is hidden.
func (Truth) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Truth) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Truth) LogValue() slog.Value { return slog.StringValue(hidden) }

// MarshalJSON refuses: a pain is hidden.
func (Pain) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Pain) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Pain) LogValue() slog.Value { return slog.StringValue(hidden) }

// MarshalJSON refuses: the expected conclusions are hidden.
func (Conclusions) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Conclusions) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Conclusions) LogValue() slog.Value { return slog.StringValue(hidden) }

// MarshalJSON refuses: a hazard is hidden.
func (Hazard) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Hazard) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, hidden) }

// LogValue logs [hidden].
func (Hazard) LogValue() slog.Value { return slog.StringValue(hidden) }

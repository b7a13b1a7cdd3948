package rubric

import (
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
)

const hiddenText = "[hidden]"

// MarshalJSON refuses: use EncodeKey.
func (Key) MarshalJSON() ([]byte, error) { return nil, ErrHidden }

// Format prints [hidden] for every verb.
func (Key) Format(s fmt.State, _ rune) { _, _ = io.WriteString(s, hiddenText) }

// LogValue is [hidden].
func (Key) LogValue() slog.Value { return slog.StringValue(hiddenText) }

// MarshalJSON refuses: use EncodeOutcome.
func (Outcome) MarshalJSON() ([]byte, error) { return nil, ErrHidden }

// Format prints [hidden] for every verb.
func (Outcome) Format(s fmt.State, _ rune) { _, _ = io.WriteString(s, hiddenText) }

// LogValue is [hidden].
func (Outcome) LogValue() slog.Value { return slog.StringValue(hiddenText) }

type (
	openKey     Key
	openOutcome Outcome
)

// EncodeKey opens a key for storage.
func EncodeKey(k Key) ([]byte, error) { return encode("key", openKey(k)) }

// DecodeKey reads what EncodeKey wrote.
func DecodeKey(b []byte) (Key, error) {
	var k openKey
	if err := json.Unmarshal(b, &k); err != nil {
		return Key{}, fmt.Errorf("decode key: %w", err)
	}
	return Key(k), nil
}

// EncodeOutcome opens an outcome for storage.
func EncodeOutcome(o Outcome) ([]byte, error) { return encode("outcome", openOutcome(o)) }

// DecodeOutcome reads what EncodeOutcome wrote.
func DecodeOutcome(b []byte) (Outcome, error) {
	var o openOutcome
	if err := json.Unmarshal(b, &o); err != nil {
		return Outcome{}, fmt.Errorf("decode outcome: %w", err)
	}
	return Outcome(o), nil
}

// EncodeReport writes a report as JSON.
func EncodeReport(r Report) ([]byte, error) { return encode("report", r) }

// DecodeReport reads what EncodeReport wrote.
func DecodeReport(b []byte) (Report, error) {
	var r Report
	if err := json.Unmarshal(b, &r); err != nil {
		return Report{}, fmt.Errorf("decode report: %w", err)
	}
	return r, nil
}

func encode(what string, v any) ([]byte, error) {
	b, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("encode %s: %w", what, err)
	}
	return b, nil
}

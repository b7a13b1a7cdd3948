package store

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strconv"
	"unicode/utf8"
)

// rowWriter writes rows as lines of JSON.
type rowWriter struct {
	names []string // of the columns, as JSON
	line  bytes.Buffer
	text  *json.Encoder
}

func newRowWriter(columns []column) *rowWriter {
	w := new(rowWriter)
	for _, c := range columns {
		w.names = append(w.names, strconv.Quote(c.Name))
	}
	w.text = json.NewEncoder(&w.line)
	w.text.SetEscapeHTML(false)
	return w
}

// write gives the line of a row, good until the next one.
func (w *rowWriter) write(values []any) ([]byte, error) {
	w.line.Reset()
	for i, v := range values {
		w.line.WriteByte("{,"[min(i, 1)])
		w.line.WriteString(w.names[i])
		w.line.WriteByte(':')
		if err := w.value(v); err != nil {
			return nil, fmt.Errorf("column %s: %w", w.names[i], err)
		}
	}
	w.line.WriteString("}\n")
	if w.line.Len() > mostRow {
		return nil, fmt.Errorf("a row of %d bytes; at most %d fit", w.line.Len(), mostRow)
	}
	return w.line.Bytes(), nil
}

func (w *rowWriter) value(v any) error {
	switch v := v.(type) {
	case nil:
		w.line.WriteString("null")
	case int64:
		w.line.Write(strconv.AppendInt(w.line.AvailableBuffer(), v, 10))
	case string:
		return w.string(v)
	case []byte:
		return w.string(string(v))
	default:
		return fmt.Errorf("a %T has no portable form", v)
	}
	return nil
}

// string writes UTF-8 so that it can be read, and anything else so that it comes
// back as it was.
func (w *rowWriter) string(s string) error {
	if !utf8.ValidString(s) {
		w.line.WriteString(`{"base64":"`)
		w.line.Write(base64.StdEncoding.AppendEncode(w.line.AvailableBuffer(), []byte(s)))
		w.line.WriteString(`"}`)
		return nil
	}
	if err := w.text.Encode(s); err != nil {
		return err
	}
	w.line.Truncate(w.line.Len() - 1) // the encoder ends a line
	return nil
}

// readRow reads a line into values in the order of the columns.
func readRow(line []byte, columns []column, values []any) error {
	fields := make(map[string]json.RawMessage, len(columns))
	if err := json.Unmarshal(line, &fields); err != nil {
		return err
	}
	if len(fields) != len(columns) {
		return fmt.Errorf("%d columns, right would be %d", len(fields), len(columns))
	}
	for i, c := range columns {
		raw, ok := fields[c.Name]
		if !ok {
			return fmt.Errorf("column %s is missing", c.Name)
		}
		var err error
		if values[i], err = readValue(raw, c.Kind); err != nil {
			return fmt.Errorf("column %s: %w", c.Name, err)
		}
	}
	return nil
}

func readValue(raw json.RawMessage, kind string) (any, error) {
	if string(raw) == "null" {
		return nil, nil
	}
	if kind == kindInteger {
		return strconv.ParseInt(string(raw), 10, 64)
	}
	if raw[0] != '{' {
		var s string
		err := json.Unmarshal(raw, &s)
		if kind == kindText {
			return s, err
		}
		return []byte(s), err
	}
	var packed struct {
		Base64 *[]byte `json:"base64"`
	}
	switch err := json.Unmarshal(raw, &packed); {
	case err != nil:
		return nil, err
	case packed.Base64 == nil:
		return nil, fmt.Errorf(`neither a text nor {"base64": ...}`)
	case kind == kindText:
		return string(*packed.Base64), nil
	}
	return *packed.Base64, nil
}

package rubric

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// The bounds of a transcript.
const (
	LineMost = 16_000 // bytes a line
	ActsMost = 5_000  // acts a transcript
)

// ErrTranscript is wrapped by every error about a transcript that cannot be read.
var ErrTranscript = errors.New("unreadable transcript")

// LineError says which line of a transcript is wrong, why, and what would be right.
type LineError struct {
	Line int // from 1
	Err  error
}

// Error names the line.
func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.Err) }

// Unwrap gives both the sentinel and the cause.
func (e *LineError) Unwrap() []error { return []error{ErrTranscript, e.Err} }

// jsonLine is one line: an act, and its outcome where it has been played.
type jsonLine struct {
	Act
	Outcome *openOutcome `json:"outcome,omitempty"`
}

// ReadTranscript reads JSON Lines, one act a line, n counting from 1 without
// gaps; an "outcome" member is optional. Blank lines are skipped. Unknown and
// repeated members are refused, and so is anything out of bounds; the error
// names the line. Nothing is known here of catalogues: ids are not checked.
func ReadTranscript(r io.Reader) (Transcript, error) {
	in := bufio.NewReaderSize(r, LineMost+2)
	var t Transcript
	for line := 1; ; line++ {
		text, err := in.ReadSlice('\n')
		switch {
		case errors.Is(err, bufio.ErrBufferFull):
			return nil, &LineError{line, fmt.Errorf("longer than %d bytes; write one act a line", LineMost)}
		case err != nil && !errors.Is(err, io.EOF):
			return nil, &LineError{line, err}
		}
		if body := bytes.TrimSpace(text); len(body) > 0 {
			if len(t) >= ActsMost {
				return nil, &LineError{line, fmt.Errorf("more than %d acts; split the transcript", ActsMost)}
			}
			e, errLine := readLine(body, len(t)+1)
			if errLine != nil {
				return nil, &LineError{line, errLine}
			}
			t = append(t, e)
		}
		if err != nil {
			return t, nil
		}
	}
}

func readLine(body []byte, want int) (Entry, error) {
	if len(body) > LineMost {
		return Entry{}, fmt.Errorf("longer than %d bytes; write one act a line", LineMost)
	}
	if !utf8.Valid(body) {
		return Entry{}, errors.New("not valid UTF-8; save the file as UTF-8")
	}
	if err := onceEach(body); err != nil {
		return Entry{}, err
	}
	var l jsonLine
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&l); err != nil {
		return Entry{}, plain(err)
	}
	if dec.More() {
		return Entry{}, errors.New("more than one value; write one act a line")
	}
	if l.N != want {
		return Entry{}, fmt.Errorf("n is %d; write %d: acts count from 1 in order, each once", l.N, want)
	}
	if err := l.Check(); err != nil {
		return Entry{}, err
	}
	e := Entry{Act: l.Act}
	if l.Outcome != nil {
		e.Outcome = Outcome(*l.Outcome)
	}
	return e, nil
}

// plain rewords what encoding/json says for who wrote the line.
func plain(err error) error {
	var kind *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	switch {
	case errors.As(err, &kind):
		return fmt.Errorf("%s: %s does not fit; write a %s", cmp.Or(strings.TrimPrefix(kind.Field, "Act."), "the line"), kind.Value, kindName(kind.Type.String()))
	case errors.As(err, &syntax):
		return fmt.Errorf("not JSON at byte %d: %s; write one object a line, such as %s", syntax.Offset, syntax.Error(), `{"n":1,"kind":"examine","step":"distance.observe"}`)
	case errors.Is(err, io.ErrUnexpectedEOF):
		return errors.New("the line ends in the middle; write one whole object a line")
	}
	return fmt.Errorf("%s; see the list of members", strings.TrimPrefix(err.Error(), "json: "))
}

func kindName(t string) string {
	switch {
	case strings.Contains(t, "int"):
		return "whole number"
	case t == "string":
		return "text in quotes"
	case strings.HasPrefix(t, "[]"):
		return "list"
	}
	return "object"
}

// onceEach refuses a member that stands twice in one object, or that is
// spelled with capitals: encoding/json would take either without a word.
func onceEach(body []byte) error {
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.UseNumber()
	type level struct {
		object bool
		key    bool // the next token is a key
		seen   map[string]bool
	}
	var stack []level
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return plain(err)
		}
		d, isDelim := tok.(json.Delim)
		if isDelim && (d == '}' || d == ']') {
			stack = stack[:len(stack)-1]
			continue
		}
		if n := len(stack); n > 0 && stack[n-1].object {
			top := &stack[n-1]
			if key, ok := tok.(string); ok && top.key {
				if top.seen[key] {
					return fmt.Errorf("%q stands twice; write it once", clip(key))
				}
				if key != strings.ToLower(key) {
					return fmt.Errorf("%q is not known; members are written in small letters", clip(key))
				}
				top.seen[key], top.key = true, false
				continue
			}
			top.key = true
		}
		if isDelim {
			stack = append(stack, level{object: d == '{', key: d == '{', seen: map[string]bool{}})
		}
	}
}

// WriteTranscript writes JSON Lines with outcomes. It opens what is hidden from
// students: it is for storage, export by instructors and tests. What a student
// may take along is written by WriteActs.
func WriteTranscript(w io.Writer, t Transcript) error { return writeLines(w, t, true) }

// WriteActs writes JSON Lines without outcomes.
func WriteActs(w io.Writer, t Transcript) error { return writeLines(w, t, false) }

func writeLines(w io.Writer, t Transcript, open bool) error {
	out := bufio.NewWriter(w)
	enc := json.NewEncoder(out)
	enc.SetEscapeHTML(false)
	for i := range t {
		l := jsonLine{Act: t[i].Act}
		if open && !t[i].Outcome.isZero() {
			o := openOutcome(t[i].Outcome)
			l.Outcome = &o
		}
		if err := enc.Encode(l); err != nil {
			return fmt.Errorf("write act %d: %w", t[i].Act.N, err)
		}
	}
	if err := out.Flush(); err != nil {
		return fmt.Errorf("write transcript: %w", err)
	}
	return nil
}

func (o *Outcome) isZero() bool {
	return o.Clock == 0 && o.Closed == nil && !o.Refused && len(o.Percepts) == 0 && len(o.Signs) == 0 && o.Answer == "" &&
		len(o.Shown) == 0 && len(o.Events) == 0 && o.Ended == "" && len(o.State) == 0
}

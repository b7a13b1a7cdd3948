package review

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"dewclaw/cases"
)

// File is the name of a school's file in its folder.
const File = "reviews.csv"

// Bounds of that file. What is beyond them is told, not read.
const (
	mostBytes = 1 << 20
	mostText  = 200
)

// Head are the columns of the file.
var Head = []string{"item", "digest", "by", "date", "note"}

// Mark says that somebody looked at an item on a day.
type Mark struct {
	Item, Digest, By, Date, Note string
}

// ReadMarks reads a school's file. With a problem in a row that row is left out.
func ReadMarks(name string, data []byte) ([]Mark, []cases.Problem) {
	if len(data) > mostBytes {
		return nil, []cases.Problem{{File: name, Line: 1, Col: 1, Message: fmt.Sprintf("the file is longer than %d bytes", mostBytes)}}
	}
	in := csv.NewReader(bytes.NewReader(data))
	in.FieldsPerRecord = -1
	var marks []Mark
	var problems []cases.Problem
	for first := true; ; first = false {
		cells, err := in.Read()
		if errors.Is(err, io.EOF) {
			return marks, problems
		}
		var bad *csv.ParseError
		if errors.As(err, &bad) {
			return marks, append(problems, cases.Problem{File: name, Line: bad.Line, Col: max(1, bad.Column), Message: "this is no row of a CSV file: " + bad.Err.Error()})
		}
		if err != nil {
			return marks, append(problems, cases.Problem{File: name, Line: 1, Col: 1, Message: err.Error()})
		}
		say := func(i int, format string, args ...any) {
			line, col := in.FieldPos(min(i, len(cells)-1))
			problems = append(problems, cases.Problem{File: name, Line: line, Col: col, Message: fmt.Sprintf(format, args...)})
		}
		if first {
			if !slices.Equal(cells, Head) {
				say(0, "the first row should be %s", strings.Join(Head, ","))
			}
			continue
		}
		if m, ok := readMark(cells, say); ok {
			marks = append(marks, m)
		}
	}
}

func readMark(cells []string, say func(int, string, ...any)) (Mark, bool) {
	if len(cells) != len(Head) {
		say(0, "this row has %d cells; it should have %d: %s", len(cells), len(Head), strings.Join(Head, ","))
		return Mark{}, false
	}
	ok := true
	wrong := func(i int, format string, args ...any) { say(i, format, args...); ok = false }
	for i, c := range cells {
		cells[i] = strings.TrimSpace(c)
		if len(cells[i]) > mostText {
			wrong(i, "%s is longer than %d bytes", Head[i], mostText)
		}
	}
	m := Mark{cells[0], cells[1], cells[2], cells[3], cells[4]}
	if m.Item == "" {
		wrong(0, "name the item, such as case/tansy; dewclaw review lists them")
	}
	if m.Digest == "" {
		wrong(1, "write the digest that dewclaw review shows beside the item: it says what was looked at")
	}
	if m.By == "" {
		wrong(2, "say who looked at it, by name")
	}
	if _, err := time.Parse(time.DateOnly, m.Date); err != nil {
		wrong(3, "%q should be a day such as 2026-11-25", m.Date)
	}
	return m, ok
}

// State is how far the review of an item has come.
type State struct {
	Reviewed bool
	Changed  bool // it was reviewed, and has changed since
	By, Date string
}

// Words says the state in a line.
func (s State) Words() string {
	switch {
	case s.Reviewed:
		return "reviewed by " + s.By + ", " + s.Date
	case s.Changed:
		return "changed since " + s.By + " reviewed it, " + s.Date
	}
	return "not yet reviewed by a clinician"
}

// Book is the items with their marks.
type Book struct {
	items []Item
	at    map[string]int
	state []State
}

// NewBook puts marks to items; of several for one item the latest that holds
// counts. It also gives a sentence for every mark of what is no item.
func NewBook(items []Item, marks []Mark) (*Book, []string) {
	b := &Book{items: items, at: make(map[string]int, len(items)), state: make([]State, len(items))}
	for i := range items {
		b.at[items[i].ID] = i
	}
	var unknown []string
	for _, m := range marks {
		i, ok := b.at[m.Item]
		if !ok {
			unknown = append(unknown, fmt.Sprintf("there is no item %q to review; dewclaw review --all lists them", m.Item))
			continue
		}
		holds, was := m.Digest == items[i].Digest, b.state[i]
		switch {
		case holds && (!was.Reviewed || m.Date >= was.Date):
			b.state[i] = State{Reviewed: true, By: m.By, Date: m.Date}
		case !holds && !was.Reviewed && m.Date >= was.Date:
			b.state[i] = State{Changed: true, By: m.By, Date: m.Date}
		}
	}
	return b, unknown
}

// Row is an item with its state.
type Row struct {
	Item
	State
}

// Find is an item with its state; false: there is none of this id.
func (b *Book) Find(id string) (Row, bool) {
	if b == nil {
		return Row{}, false
	}
	i, ok := b.at[id]
	if !ok {
		return Row{}, false
	}
	return Row{b.items[i], b.state[i]}, true
}

// Notice is what a page says of an item: nothing where it was read in its
// source, else how far its review has come.
func (b *Book) Notice(id string) string {
	row, ok := b.Find(id)
	if !ok || row.Confidence == Read && !row.Reviewed && !row.Changed {
		return ""
	}
	return row.State.Words()
}

// All are all items with their states.
func (b *Book) All() []Row {
	out := make([]Row, len(b.items))
	for i := range b.items {
		out[i] = Row{b.items[i], b.state[i]}
	}
	return out
}

// Open are the items that were not read in a source and that nobody has
// reviewed as they stand.
func (b *Book) Open() []Row {
	return slices.DeleteFunc(b.All(), func(r Row) bool { return r.Reviewed || r.Confidence == Read })
}

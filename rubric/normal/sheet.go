package normal

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"dewclaw/rubric"
)

// Bounds of a file of ranges.
const (
	MaxBytes = 1 << 20
	maxRows  = 5000
	maxText  = 1000 // characters of one cell
	maxTold  = 200  // problems; a file with more is wrong as a whole
)

// Problem is something wrong in a file: what, where, and what would be right.
type Problem struct {
	File      string
	Line, Col int
	Message   string
}

// Error gives file:line:col: message.
func (p Problem) Error() string {
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Col, p.Message)
}

// column is one column of a sheet. read puts a cell into the row and says what
// is wrong with it; empty: nothing.
type column[R any] struct {
	name string
	read func(*R, string) string
}

// sheet is a kind of file: its columns, in their order.
type sheet[R any] []column[R]

// placed is a row with its cells and where they stand.
type placed[R any] struct {
	row   R
	cells []string
	at    [][2]int // line and column of each cell
	file  string
}

// problem is one with the cell of a column.
func (s sheet[R]) problem(p *placed[R], column, format string, args ...any) Problem {
	for i, c := range s {
		if c.name == column {
			return Problem{p.file, p.at[i][0], p.at[i][1], fmt.Sprintf(format, args...)}
		}
	}
	return Problem{p.file, p.at[0][0], p.at[0][1], fmt.Sprintf(format, args...)}
}

// names are the columns as the first line has them.
func (s sheet[R]) names() []string {
	out := make([]string, len(s))
	for i, c := range s {
		out[i] = c.name
	}
	return out
}

// read reads a file; rows with a problem are left out.
func (s sheet[R]) read(file string, data []byte) (out []placed[R], problems []Problem) {
	tell := func(line, col int, format string, args ...any) {
		problems = append(problems, Problem{file, max(line, 1), max(col, 1), fmt.Sprintf(format, args...)})
	}
	if len(data) > MaxBytes {
		tell(1, 1, "a file of ranges is at most %d bytes long", MaxBytes)
		return nil, problems
	}
	in := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))))
	in.FieldsPerRecord, in.Comment = -1, '#'
	head, err := in.Read()
	if err != nil {
		line, col, why := whyNot(err)
		tell(line, col, "%s; the first line should be %s", why, strings.Join(s.names(), ","))
		return nil, problems
	}
	if why := s.wrongHead(head); why != "" {
		tell(1, 1, "%s; the first line should be %s", why, strings.Join(s.names(), ","))
		return nil, problems
	}
	for len(problems) < maxTold {
		rec, err := in.Read()
		if errors.Is(err, io.EOF) {
			if len(out) == 0 && len(problems) == 0 {
				tell(1, 1, "there is no row below the names of the columns")
			}
			return out, problems
		}
		if err != nil {
			tell(whyNotAt(err))
			return out, problems // where the next row begins is not known
		}
		line, _ := in.FieldPos(0)
		switch {
		case len(rec) != len(s):
			tell(line, 1, "this row has %d columns; right would be %d: %s (text with a comma stands in double quotes)", len(rec), len(s), strings.Join(s.names(), ","))
		case len(out) == maxRows:
			tell(line, 1, "a file of ranges has at most %d rows", maxRows)
			return out, problems
		default:
			p := placed[R]{cells: rec, file: file, at: make([][2]int, len(rec))}
			for i := range rec {
				p.at[i][0], p.at[i][1] = in.FieldPos(i)
			}
			if wrong := s.fill(&p); wrong != nil {
				problems = append(problems, wrong...)
			} else {
				out = append(out, p)
			}
		}
	}
	return out, problems
}

// fill reads the cells into the row.
func (s sheet[R]) fill(p *placed[R]) (wrong []Problem) {
	for i, c := range s {
		cell := strings.TrimSpace(p.cells[i])
		why := ""
		if len([]rune(cell)) > maxText {
			why = fmt.Sprintf("%s is longer than %d characters", c.name, maxText)
		} else {
			why = c.read(&p.row, cell)
		}
		if why != "" {
			wrong = append(wrong, s.problem(p, c.name, "%s", why))
		}
	}
	return wrong
}

// wrongHead says what is wrong with the names of the columns.
func (s sheet[R]) wrongHead(head []string) string {
	if len(head) == 1 && strings.Contains(head[0], ";") {
		return "semicolons stand between the columns; right would be commas"
	}
	for i, c := range s {
		if i >= len(head) {
			return fmt.Sprintf("the column %s is missing", c.name)
		}
		if strings.TrimSpace(head[i]) != c.name {
			return fmt.Sprintf("column %d is %q and not %s", i+1, clip(head[i]), c.name)
		}
	}
	if len(head) > len(s) {
		return fmt.Sprintf("there is no column %q", clip(head[len(s)]))
	}
	return ""
}

// whyNot is why the bytes are no CSV.
func whyNot(err error) (line, col int, why string) {
	var p *csv.ParseError
	switch {
	case errors.Is(err, io.EOF):
		return 1, 1, "the file is empty"
	case !errors.As(err, &p):
		return 1, 1, "this is no CSV"
	case errors.Is(p.Err, csv.ErrQuote):
		return p.Line, p.Column, "a quoted text goes on after its closing quote, or never ends; a quote inside is written twice"
	case errors.Is(p.Err, csv.ErrBareQuote):
		return p.Line, p.Column, "a double quote stands inside a text without quotes; put the whole text in quotes and write the inner one twice"
	}
	return p.Line, p.Column, "this is no CSV"
}

func whyNotAt(err error) (line, col int, format string, args string) {
	line, col, why := whyNot(err)
	return line, col, "%s", why
}

// clip shortens what is repeated of a bad file.
func clip(s string) string {
	r := []rune(s)
	if len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}

// texts is a column of plain text.
func texts[R any](name string, into func(*R) *string) column[R] {
	return column[R]{name, func(r *R, s string) string { *into(r) = s; return "" }}
}

// whole is a column of whole numbers; an empty cell is open.
func whole[R any](name string, open int, into func(*R) *int) column[R] {
	return column[R]{name, func(r *R, s string) string {
		if s == "" {
			*into(r) = open
			return ""
		}
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 || n >= Open {
			return fmt.Sprintf("%s is %q; right would be a whole number such as 56, or nothing where there is no end", name, clip(s))
		}
		*into(r) = n
		return ""
	}}
}

// amount reads a decimal number.
func amount(name, s string, into *rubric.Milli) string {
	m, err := rubric.ParseMilli(s)
	if err != nil || m < 0 {
		return fmt.Sprintf("%s is %q; right would be a number such as 120 or 38.5", name, clip(s))
	}
	*into = m
	return ""
}

// number is a column of decimal numbers.
func number[R any](name string, into func(*R) *rubric.Milli) column[R] {
	return column[R]{name, func(r *R, s string) string { return amount(name, s, into(r)) }}
}

var rangeSheet = sheet[Row]{
	texts("id", func(r *Row) *string { return &r.ID }),
	texts("species", func(r *Row) *string { return &r.Species }),
	texts("class", func(r *Row) *string { return &r.Class }),
	whole("age_from_days", 0, func(r *Row) *int { return &r.Days.From }),
	whole("age_to_days", Open, func(r *Row) *int { return &r.Days.To }),
	whole("grams_from", 0, func(r *Row) *int { return &r.Grams.From }),
	whole("grams_to", Open, func(r *Row) *int { return &r.Grams.To }),
	texts("vital", func(r *Row) *string { return &r.Vital }),
	texts("unit", func(r *Row) *string { return &r.Unit }),
	number("low", func(r *Row) *rubric.Milli { return &r.Low }),
	number("high", func(r *Row) *rubric.Milli { return &r.High }),
	number("grey_low", func(r *Row) *rubric.Milli { return &r.GreyLow }),
	number("grey_high", func(r *Row) *rubric.Milli { return &r.GreyHigh }),
	texts("source", func(r *Row) *string { return &r.Source }),
	texts("confidence", func(r *Row) *string { return &r.Confidence }),
}

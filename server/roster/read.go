package roster

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
	xunicode "golang.org/x/text/encoding/unicode"
)

// Limits of a roster.
const (
	MostBytes = 8 << 20
	MostRows  = 20_000
	mostCell  = 254
)

// Row is one person of a roster. Line counts from 1, the header row included.
type Row struct {
	Line   int
	Number string
	Login  string
	Name   string
	Email  string
	Role   string // student or instructor
}

// Problem is what is wrong with one row. Nothing of that row is taken.
type Problem struct {
	Line   int
	Column string // the header's own word; empty: the whole row
	Text   string // what is wrong and what would be right
}

// Why a file as a whole cannot be read.
var (
	ErrTooBig   = fmt.Errorf("roster: larger than %d MB; leave out what is not a list of people", MostBytes>>20)
	ErrTooMany  = fmt.Errorf("roster: more than %d rows", MostRows)
	ErrEmpty    = errors.New("roster: no header row with rows below it")
	ErrNotTable = errors.New("roster: neither a CSV nor an XLSX file")
)

// HeaderError says which columns were not found.
type HeaderError struct{ Missing, Seen []string }

func (e *HeaderError) Error() string {
	return fmt.Sprintf("roster: the first row must name the columns; %s not found among %s", strings.Join(e.Missing, ", "), strings.Join(e.Seen, ", "))
}

// cells is a row as it stands in the file.
type cells struct {
	line  int
	cell  []string
	wrong string // why the row as a whole cannot be read
}

// Read reads a roster. Rows with a problem are left out of rows; the error is
// for a file that cannot be read as a roster at all.
func Read(data []byte) (rows []Row, problems []Problem, err error) {
	table, err := tableOf(data)
	if err != nil {
		return nil, nil, err
	}
	for len(table) > 0 && blank(table[0].cell) {
		table = table[1:]
	}
	if len(table) < 2 {
		return nil, nil, ErrEmpty
	}
	if len(table) > MostRows+1 {
		return nil, nil, ErrTooMany
	}
	h, err := headerOf(table[0].cell)
	if err != nil {
		return nil, nil, err
	}
	for _, c := range table[1:] {
		if c.wrong == "" && blank(c.cell) {
			continue
		}
		if row, p := h.row(c); len(p) > 0 {
			problems = append(problems, p...)
		} else {
			rows = append(rows, row)
		}
	}
	rows, twice := once(rows)
	return rows, sorted(append(problems, twice...)), nil
}

func tableOf(data []byte) ([]cells, error) {
	switch {
	case len(data) > MostBytes:
		return nil, ErrTooBig
	case bytes.HasPrefix(data, []byte("PK\x03\x04")):
		return sheetOf(data)
	case bytes.HasPrefix(data, []byte("\xd0\xcf\x11\xe0")), bytes.HasPrefix(data, []byte("%PDF")):
		return nil, ErrNotTable // an older spreadsheet format, or a document
	}
	text, err := decoded(data)
	if err != nil {
		return nil, err
	}
	return linesOf(text)
}

// decoded is the text of a file: UTF-16 by its mark, UTF-8 where it is valid,
// else Windows-1252 (the encodings that spreadsheets write; a stray zero byte is
// in none of them).
func decoded(data []byte) (string, error) {
	if bytes.HasPrefix(data, []byte{0xff, 0xfe}) || bytes.HasPrefix(data, []byte{0xfe, 0xff}) {
		out, err := xunicode.UTF16(xunicode.LittleEndian, xunicode.ExpectBOM).NewDecoder().Bytes(data)
		if err != nil {
			return "", ErrNotTable
		}
		return string(out), nil
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if bytes.IndexByte(data, 0) >= 0 {
		return "", ErrNotTable
	}
	if utf8.Valid(data) {
		return string(data), nil
	}
	out, err := charmap.Windows1252.NewDecoder().Bytes(data)
	if err != nil {
		return "", ErrNotTable
	}
	return string(out), nil
}

// linesOf cuts a CSV text by the separator that its header row uses most.
func linesOf(text string) ([]cells, error) {
	header, _, _ := strings.Cut(strings.TrimLeft(text, "\r\n"), "\n")
	comma := ','
	for _, c := range []rune{';', '\t'} {
		if strings.Count(header, string(c)) > strings.Count(header, string(comma)) {
			comma = c
		}
	}
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes, r.TrimLeadingSpace = comma, -1, false, comma != '\t'
	var table []cells
	for {
		record, err := r.Read()
		var wrong *csv.ParseError
		switch {
		case errors.Is(err, io.EOF):
			return table, nil
		case errors.As(err, &wrong):
			table = append(table, cells{line: wrong.StartLine, wrong: "a quotation mark is not closed or stands inside a cell; write it twice"})
			if len(table) > MostRows {
				return nil, ErrTooMany
			}
			continue
		case err != nil:
			return nil, err
		}
		line, _ := r.FieldPos(0)
		table = append(table, cells{line: line, cell: record})
		if len(table) > MostRows+1 {
			return nil, ErrTooMany
		}
	}
}

func blank(cell []string) bool {
	for _, c := range cell {
		if strings.TrimSpace(c) != "" {
			return false
		}
	}
	return true
}

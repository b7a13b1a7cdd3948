package normal

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strings"
)

// Overlaid is the table by which a school's visits are drawn and marked.
type Overlaid struct {
	Text     []byte // the whole table as a file, for an attempt to keep
	Table    Table
	Replaced []string // ids of our rows in whose place the school's own stand
	Added    []string // ids of the school's further rows, which stand in front
}

// Ours is the table that comes with the program, with nothing laid over it.
func Ours() Overlaid { return Overlaid{Text: Data(), Table: Rows()} }

// Overlay lays a school's own file over ours: a row with the id of one of ours
// takes its place, every other row is put in front and so is found first. With
// any problem it is ours alone.
func Overlay(file string, own []byte) (Overlaid, []Problem) {
	found, problems := checked(file, own)
	base, _ := rangeSheet.read("ranges.csv", data)
	for i := range found {
		if ours, ok := Table(rows).Find(found[i].row.ID); ok {
			if r := found[i].row; r.Species != ours.Species || r.Vital != ours.Vital {
				problems = append(problems, rangeSheet.problem(&found[i], "id", "%s is the row of the %s's %s; for another animal or vital take another id", ours.ID, ours.Species, Label(ours.Vital)))
			}
		}
	}
	if len(problems) > 0 {
		return Ours(), sorted(problems)
	}
	var out Overlaid
	var front []placed[Row]
	for _, p := range found {
		if i := slices.IndexFunc(base, func(b placed[Row]) bool { return b.row.ID == p.row.ID }); i >= 0 {
			base[i] = p
			out.Replaced = append(out.Replaced, p.row.ID)
			continue
		}
		front = append(front, p)
		out.Added = append(out.Added, p.row.ID)
	}
	all := slices.Concat(front, base)
	out.Table, out.Text = tableOf(all), slices.Concat(out.marks(), textOf(all))
	return out, nil
}

// What the first lines of a kept file say of the school's own rows, so that a
// report can still tell them years later.
const replacedMark, addedMark = "# replaced: ", "# added: "

// marks are those lines.
func (o Overlaid) marks() []byte {
	var buf bytes.Buffer
	for _, id := range o.Replaced {
		buf.WriteString(replacedMark + id + "\n")
	}
	for _, id := range o.Added {
		buf.WriteString(addedMark + id + "\n")
	}
	return buf.Bytes()
}

// Kept reads the text of a table as an attempt kept it, and which of its rows
// were the school's own.
func Kept(text []byte) (Overlaid, error) {
	out := Overlaid{Text: text}
	var err error
	if out.Table, err = Parse(text); err != nil {
		return Overlaid{}, err
	}
	for line := range strings.Lines(string(text)) {
		line = strings.TrimRight(line, "\r\n")
		if id, ok := strings.CutPrefix(line, replacedMark); ok {
			out.Replaced = append(out.Replaced, id)
		} else if id, ok := strings.CutPrefix(line, addedMark); ok {
			out.Added = append(out.Added, id)
		} else {
			break
		}
	}
	return out, nil
}

// Own says whether a row of this id comes from the school.
func (o Overlaid) Own(id string) bool {
	return slices.Contains(o.Replaced, id) || slices.Contains(o.Added, id)
}

// textOf writes rows as a file.
func textOf(rows []placed[Row]) []byte {
	var buf bytes.Buffer
	w := csv.NewWriter(&buf)
	_ = w.Write(rangeSheet.names()) // a buffer takes all
	for _, p := range rows {
		_ = w.Write(p.cells)
	}
	w.Flush()
	return buf.Bytes()
}

// Place is the line and column of a cell of the row with this id; 1, 1 where
// there is none.
func Place(own []byte, id, column string) (line, col int) {
	found, _ := rangeSheet.read("", own)
	for i := range found {
		if found[i].row.ID == id {
			p := rangeSheet.problem(&found[i], column, "")
			return p.Line, p.Col
		}
	}
	return 1, 1
}

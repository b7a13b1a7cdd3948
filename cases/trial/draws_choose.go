package trial

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/bits"
	"math/rand/v2"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Row is a seed with its D.
type Row struct {
	Seed cases.Seed
	D    rubric.Points
}

// Table is how hard the patients are that some seeds draw of a case. It is
// hidden: who has it can tell which seeds may come. Encode it for storage with
// EncodeTable.
type Table struct {
	Mean rubric.Points
	Rows []Row
}

// MarshalJSON refuses: a table of seeds is hidden.
func (Table) MarshalJSON() ([]byte, error) { return nil, rubric.ErrHidden }

// Format prints [hidden] for every verb.
func (Table) Format(f fmt.State, _ rune) { _, _ = io.WriteString(f, "[hidden]") }

// LogValue logs [hidden].
func (Table) LogValue() slog.Value { return slog.StringValue("[hidden]") }

func (t *Table) off(r Row) rubric.Points { return r.D - t.Mean }

func (t *Table) fits(r Row) bool { return max(t.off(r), -t.off(r)) <= MostOff }

// Fit are the rows that may be given: no farther than MostOff from the mean.
func (t *Table) Fit() []Row {
	var out []Row
	for _, r := range t.Rows {
		if t.fits(r) {
			out = append(out, r)
		}
	}
	return out
}

// mostTries bounds a search by chance. Of ten patients with an SD of 1 each, one
// choice in six adds up.
const mostTries = 10_000

// Choose draws the patients of a student's sitting, one of each table, each no
// farther than MostOff from its mean and all together no farther than MostSum
// from the sum of the means. A sitting of one patient is held to MostSum too. Every
// choice that keeps to this is as likely as any other. The same source in the
// same state gives the same choice, so seed it by what no student can know.
//
// Errors: no table, one without a row that fits, and one whose rows cannot be made to
// add up.
func Choose(src rand.Source, sitting []Table) ([]cases.Seed, error) {
	if len(sitting) == 0 {
		return nil, errors.New("trial: a sitting has at least one patient")
	}
	fit := make([][]Row, len(sitting))
	for i := range sitting {
		if fit[i] = sitting[i].Fit(); len(fit[i]) == 0 {
			return nil, fmt.Errorf("trial: patient %d of the sitting has no seed within %s points of its mean; right would be a narrower spread, or other seeds", i+1, MostOff)
		}
	}
	out := make([]cases.Seed, len(sitting))
	for range mostTries {
		sum := rubric.Points(0)
		for i := range sitting {
			r := fit[i][below(src, len(fit[i]))]
			out[i] = r.Seed
			sum += sitting[i].off(r)
		}
		if max(sum, -sum) <= MostSum {
			return out, nil
		}
	}
	return nil, fmt.Errorf("trial: of %d choices of %d patients none adds up to within %s points of their means; right would be more seeds, or a narrower spread", mostTries, len(sitting), MostSum)
}

// below draws from 0..n-1, the same on every processor.
func below(src rand.Source, n int) int {
	hi, _ := bits.Mul64(src.Uint64(), uint64(n))
	return int(hi)
}

// tableVersion begins every stored table.
const tableVersion = 1

// rowSize is a seed and its D.
const rowSize = 16 + 4

// EncodeTable opens a table for storage: a version, the mean, and 20 bytes a row.
func EncodeTable(t Table) []byte {
	out := make([]byte, 0, 5+rowSize*len(t.Rows))
	out = append(out, tableVersion)
	out = binary.BigEndian.AppendUint32(out, uint32(int32(t.Mean)))
	for _, r := range t.Rows {
		out = append(out, cases.EncodeSeed(r.Seed)...)
		out = binary.BigEndian.AppendUint32(out, uint32(int32(r.D)))
	}
	return out
}

// DecodeTable reads what EncodeTable wrote.
func DecodeTable(b []byte) (Table, error) {
	if len(b) < 5 || b[0] != tableVersion || (len(b)-5)%rowSize != 0 {
		return Table{}, errors.New("trial: a stored table of draws cannot be read: it is damaged, or of a version that this program does not know")
	}
	points := func(b []byte) rubric.Points { return rubric.Points(int32(binary.BigEndian.Uint32(b))) }
	t := Table{Mean: points(b[1:])}
	for b = b[5:]; len(b) > 0; b = b[rowSize:] {
		seed, err := cases.DecodeSeed(b[:16])
		if err != nil {
			return Table{}, err
		}
		t.Rows = append(t.Rows, Row{Seed: seed, D: points(b[16:])})
	}
	return t, nil
}

package roster

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
	xunicode "golang.org/x/text/encoding/unicode"
)

const plain = "number,name,email\r\n1001,Ödön Ágoston,odon@example.org\r\n1002,\"Brook, Ash\",\r\n"

var people = []Row{
	{Line: 2, Number: "1001", Login: "1001", Name: "Ödön Ágoston", Email: "odon@example.org", Role: "student"},
	{Line: 3, Number: "1002", Login: "1002", Name: "Brook, Ash", Role: "student"},
}

// The same people in every encoding that spreadsheets write (RFC 4180 for the
// quoting; RFC 3629 and the Unicode FAQ for the byte-order marks).
func TestEncodingsAndSeparators(t *testing.T) {
	west, err := charmap.Windows1252.NewEncoder().String("number;name;email\n1001;Ödön Ágoston;odon@example.org\n1002;Brook, Ash;\n")
	require.NoError(t, err)
	wide, err := xunicode.UTF16(xunicode.LittleEndian, xunicode.UseBOM).NewEncoder().String(strings.ReplaceAll("number\tname\temail\r\n1001\tÖdön Ágoston\todon@example.org\r\n1002\tBrook, Ash\t\r\n", "\r", ""))
	require.NoError(t, err)
	for name, text := range map[string]string{
		"plain": plain, "mark": "\xef\xbb\xbf" + plain, "windows-1252": west, "utf-16": wide,
		"decomposed": strings.ReplaceAll(plain, "Ö", "O\u0308"),
		"spaces":     "number, name , email\n 1001 , Ödön   Ágoston ,odon@example.org\n1002,\"Brook, Ash\",\n\n",
	} {
		t.Run(name, func(t *testing.T) {
			rows, problems, err := Read([]byte(text))
			require.NoError(t, err)
			require.Empty(t, problems)
			require.Equal(t, people, rows)
		})
	}
}

func TestSheet(t *testing.T) {
	f := excelize.NewFile()
	_, err := f.NewSheet("People")
	require.NoError(t, err)
	for at, v := range map[string]any{"A1": "Student number", "B1": "Given name", "C1": "Surname", "A2": 1001, "B2": "Ödön", "C2": "Ágoston", "A3": 1002, "B3": "Ash", "C3": "Brook"} {
		require.NoError(t, f.SetCellValue("People", at, v))
	}
	require.NoError(t, f.SetCellFormula("People", "B3", `HYPERLINK("http://x.example","Ash")`))
	var b bytes.Buffer
	require.NoError(t, f.Write(&b))
	rows, problems, err := Read(b.Bytes())
	require.NoError(t, err)
	require.Equal(t, []Row{{Line: 2, Number: "1001", Login: "1001", Name: "Ödön Ágoston", Role: "student"}}, rows)
	require.Equal(t, []Problem{{3, "Given name", "begins like a formula or holds a control character; write the plain text"}}, problems)
}

func TestProblemsHaveTheirLine(t *testing.T) {
	rows, problems, err := Read([]byte("number,login,name,role,email\n" +
		"1,ann,Ann,student,\n" + // 2
		"2,ben,=cmd|' /C calc'!A0,,\n" + // 3
		"3,no login at all,Cem,,\n" + // 4
		",,Dee,,\n" + // 5
		"4,eli,,,\n" + // 6
		"5,fay,Fay,dean,\n" + // 7
		"6,gus,Gus,teacher,nowhere\n" + // 8
		"1,hal,Hal,,\n" + // 9
		"7,ANN,Ira,,\n" + // 10
		"8,jo,\"Jo\nJo\",,\n" + // 11, two lines long
		"9,kit," + strings.Repeat("k", 300) + ",,\n")) // 13
	require.NoError(t, err)
	var kept []string
	for _, r := range rows {
		kept = append(kept, r.Name)
	}
	require.Equal(t, []string{"Ann", "Jo Jo"}, kept)
	var lines []int
	for _, p := range problems {
		lines = append(lines, p.Line)
		require.NotEmpty(t, p.Text)
	}
	require.Equal(t, []int{3, 4, 5, 6, 7, 8, 9, 10, 13}, lines)
}

func TestFilesThatAreNoRoster(t *testing.T) {
	var bomb bytes.Buffer
	z := zip.NewWriter(&bomb)
	w, err := z.Create("xl/worksheets/sheet1.xml")
	require.NoError(t, err)
	for range 70 {
		_, err = w.Write(make([]byte, 1<<20))
		require.NoError(t, err)
	}
	require.NoError(t, z.Close())
	var long strings.Builder
	long.WriteString("number,name\n")
	for i := range MostRows + 1 {
		fmt.Fprintf(&long, "%d,Somebody\n", i)
	}
	var header *HeaderError
	for name, row := range map[string]struct {
		data []byte
		is   func(error) bool
	}{
		"nothing":      {nil, func(err error) bool { return errors.Is(err, ErrEmpty) }},
		"header only":  {[]byte("number,name\n"), func(err error) bool { return errors.Is(err, ErrEmpty) }},
		"20 MB":        {make([]byte, 20<<20), func(err error) bool { return errors.Is(err, ErrTooBig) }},
		"zeros":        {make([]byte, 100), func(err error) bool { return errors.Is(err, ErrNotTable) }},
		"a document":   {[]byte("%PDF-1.7\n"), func(err error) bool { return errors.Is(err, ErrNotTable) }},
		"a ZIP":        {bomb.Bytes(), func(err error) bool { return errors.Is(err, ErrNotTable) }},
		"other words":  {[]byte("colour,shape\nred,round\n"), func(err error) bool { return errors.As(err, &header) }},
		"too many":     {[]byte(long.String()), func(err error) bool { return errors.Is(err, ErrTooMany) }},
		"odd UTF-16":   {[]byte{0xff, 0xfe, 0x41}, func(err error) bool { return err != nil }},
		"a lone quote": {[]byte("number,name\n1,\"Ann\n"), func(err error) bool { return err == nil }},
	} {
		t.Run(name, func(t *testing.T) {
			_, _, err := Read(row.data)
			require.True(t, row.is(err), "%v", err)
		})
	}
	require.Equal(t, []string{"number or login", "name, or family and given"}, header.Missing)
}

func TestPlan(t *testing.T) {
	have := []Person{
		{ID: "a", Number: "1001", Login: "1001", Name: "Ödön Ágoston", Email: "odon@example.org", Role: "student"},
		{ID: "b", Login: "1002", Name: "Ash Brook", Elsewhere: []string{"Autumn"}},
		{ID: "c", Number: "1003", Login: "cem", Name: "Cem", Role: "student"},
		{ID: "d", Number: "1004", Login: "dean", Name: "Dee", Staff: true},
	}
	rows := []Row{
		{Line: 2, Number: "1001", Login: "1001", Name: "Ödön Ágoston", Role: "student"},
		{Line: 3, Number: "1002", Login: "1002", Name: "Ash Brook", Role: "student"},
		{Line: 4, Number: "1005", Login: "eve", Name: "Eve", Role: "student"},
		{Line: 5, Number: "1006", Login: "cem", Name: "Another", Role: "student"},
		{Line: 6, Number: "1004", Login: "dean", Name: "Dee", Role: "student"},
	}
	changes, problems := Plan(rows, have, true)
	var deeds []Deed
	for _, c := range changes {
		deeds = append(deeds, c.Deed)
	}
	require.Equal(t, []Deed{Unchanged, Moved, New, Leaves}, deeds)
	require.Equal(t, "c", changes[3].Person.ID)
	require.Len(t, problems, 2)
	require.True(t, Sharp(changes, have))
	changes, _ = Plan(rows, have, false)
	require.Zero(t, Count(changes, Leaves))
	require.False(t, Sharp(changes, have))
}

// Done once, there is nothing left to do.
func TestPlanTwice(t *testing.T) {
	rows, _, err := Read([]byte(plain))
	require.NoError(t, err)
	changes, _ := Plan(rows, nil, true)
	require.Equal(t, 2, Count(changes, New))
	var have []Person
	for _, c := range changes {
		have = append(have, Person{ID: c.Row.Number, Number: c.Row.Number, Login: c.Row.Login, Name: c.Row.Name, Email: c.Row.Email, Role: c.Row.Role})
	}
	changes, problems := Plan(rows, have, true)
	require.Empty(t, problems)
	require.Equal(t, 2, Count(changes, Unchanged))
	require.Len(t, changes, 2)
}

func BenchmarkRead(b *testing.B) {
	var text strings.Builder
	text.WriteString("number,name,email\n")
	for i := range 5000 {
		fmt.Fprintf(&text, "%d,Student %d,s%d@example.org\n", 100000+i, i, i)
	}
	for b.Loop() {
		rows, _, err := Read([]byte(text.String()))
		if err != nil || len(rows) != 5000 {
			b.Fatal(err)
		}
	}
}

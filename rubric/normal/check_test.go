package normal

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var header = strings.Join(rangeSheet.names(), ",") + "\n"

const aRow = `school.whippet,dog,whippet,400,,9000,16000,heart_rate,/min,60,120,50,140,"our clinic, 2026",read in our records` + "\n"

func TestOurFilesStandTheirOwnCheck(t *testing.T) {
	table, problems := Check("ranges.csv", data)
	require.Empty(t, problems)
	require.Equal(t, Rows(), table)
	require.Equal(t, data, Data())
	_, problems = publishedRows("published.csv", publishedData)
	require.Empty(t, problems)
}

// What is wrong in a school's file: one line each, with its place.
func TestProblemsOfAFile(t *testing.T) {
	for _, row := range []struct{ name, text, want string }{
		{"low above high", header + "\n" + strings.Replace(aRow, "60,120", "160,120", 1),
			"own.csv:3:60 low 160 is above high 120; right would be low at most high"},
		{"source left out", header + strings.Replace(aRow, `"our clinic, 2026"`, "", 1), "own.csv:2:74 the source is left out; say who, where and when: which figure"},
		{"confidence left out", header + strings.Replace(aRow, "read in our records", " ", 1), "own.csv:2:93 the confidence is left out; say read in the source, from memory, or what it is derived from"},
		{"unknown vital", header + strings.Replace(aRow, "heart_rate", "pulse", 1), `own.csv:2:44 there is no vital "pulse"; right would be heart_rate, resp_rate, temperature, crt, body_condition`},
		{"a figure that is not graded", header + strings.Replace(aRow, "heart_rate", "rumen", 1), `own.csv:2:44 there is no vital "rumen"; right would be heart_rate, resp_rate, temperature, crt, body_condition`},
		{"unknown unit", header + strings.Replace(aRow, "/min", "bpm", 1), `own.csv:2:55 the unit "bpm" is none of heart_rate; right would be /min`},
		{"a scale that is none", header + strings.Replace(aRow, "heart_rate,/min", "body_condition,/10", 1), `own.csv:2:59 the unit "/10" is none of body_condition; right would be /9 or /5`},
		{"the same id twice", header + aRow + strings.Replace(aRow, ",400,", ",10,", 1) + strings.Replace(aRow, "school.whippet,dog", "school.cat,cat", 1),
			`own.csv:3:1 the id "school.whippet" stands in line 2 already; give every row its own`},
		{"the same animals twice", header + aRow + strings.Replace(aRow, "whippet,dog", "hound,dog", 1), `own.csv:3:26 this row reaches animals that "school.whippet" of line 2 reaches too; let their ages or weights not overlap`},
		{"the same animals in two rows of ours", header + strings.NewReplacer("school.whippet", "dog.small.heart_rate").Replace(aRow) + strings.NewReplacer("school.whippet", "dog.medium.heart_rate").Replace(aRow), `own.csv:3:35 this row reaches animals that "dog.small.heart_rate" of line 2 reaches too; let their ages or weights not overlap`},
		{"grey inside", header + strings.Replace(aRow, "50,140", "61,119", 1), "own.csv:2:67 grey_low 61 is above low 60; the grey zone encloses the normal range\nown.csv:2:70 grey_high 119 is below high 120; the grey zone encloses the normal range"},
		{"degrees of the other scale", header + strings.Replace(aRow, "heart_rate,/min,60,120,50,140", "temperature,degC,100,102,99.5,103", 1),
			"own.csv:2:61 low 100 cannot be in degC; right would lie from 20 to 45\nown.csv:2:65 high 102 cannot be in degC; right would lie from 20 to 45\nown.csv:2:69 grey_low 99.5 cannot be in degC; right would lie from 20 to 45\nown.csv:2:74 grey_high 103 cannot be in degC; right would lie from 20 to 45"},
		{"no number", header + strings.Replace(aRow, ",60,", ",sixty,", 1), `own.csv:2:60 low is "sixty"; right would be a number such as 120 or 38.5`},
		{"an age in words", header + strings.Replace(aRow, ",400,", ",adult,", 1), `own.csv:2:28 age_from_days is "adult"; right would be a whole number such as 56, or nothing where there is no end`},
		{"ages downwards", header + strings.Replace(aRow, ",400,,", ",400,300,", 1), "own.csv:2:32 the ages run downwards, from 400 to 300 days"},
		{"a bad id", header + strings.Replace(aRow, "school.whippet", "Our Whippet", 1), `own.csv:2:1 the id "Our Whippet" should be of small letters, digits, points, hyphens and underscores, such as dog.small.heart_rate`},
		{"too few columns", header + "a,b\n" + aRow, "own.csv:2:1 this row has 2 columns; right would be 15: " + strings.Join(rangeSheet.names(), ",") + " (text with a comma stands in double quotes)"},
		{"semicolons", strings.ReplaceAll(header, ",", ";"), "own.csv:1:1 semicolons stand between the columns; right would be commas; the first line should be " + strings.TrimSpace(header)},
		{"a column is missing", "id,species\n", "own.csv:1:1 the column class is missing; the first line should be " + strings.TrimSpace(header)},
		{"nothing", "", "own.csv:1:1 the file is empty; the first line should be " + strings.TrimSpace(header)},
		{"no row", header + "# only words\n", "own.csv:1:1 there is no row below the names of the columns"},
		{"a quote that never ends", header + strings.Replace(aRow, "2026\"", "2026", 1), "own.csv:2:112 a quoted text goes on after its closing quote, or never ends; a quote inside is written twice"},
		{"a quote inside", header + strings.Replace(aRow, "read in our", `read "in" our`, 1), "own.csv:2:98 a double quote stands inside a text without quotes; put the whole text in quotes and write the inner one twice"},
		{"too long", header + strings.Repeat("#", MaxBytes), fmt.Sprintf("own.csv:1:1 a file of ranges is at most %d bytes long", MaxBytes)},
		{"a row of ours for another animal", header + strings.Replace(aRow, "school.whippet", "dog.small.temperature", 1), "own.csv:2:1 dog.small.temperature is the row of the dog's rectal temperature; for another animal or vital take another id"},
	} {
		t.Run(row.name, func(t *testing.T) {
			o, problems := Overlay("own.csv", []byte(row.text))
			var lines []string
			for _, p := range problems {
				lines = append(lines, strings.Replace(p.Error(), ": ", " ", 1))
			}
			require.Equal(t, row.want, strings.Join(lines, "\n"))
			require.Equal(t, Ours(), o, "a file with a problem changes nothing")
		})
	}
}

// The same for the published figures.
func TestProblemsOfPublishedFigures(t *testing.T) {
	head := strings.Join(publishedSheet.names(), ",") + "\n"
	good := "dog,adult,113,,0,,heart_rate,/min,70,120,,a table,S01,read\n"
	for _, row := range []struct{ name, text, want string }{
		{"right", good, ""},
		{"twice", good + good, "p.csv:3:1: the same figure of this source stands in line 2 already"},
		{"downwards", strings.Replace(good, "70,120", "170,120", 1), "p.csv:2:35: low 170 is above high 120; right would be low at most high"},
		{"source", strings.Replace(good, "a table", "", 1), "p.csv:2:43: the source is left out; say who, where and when"},
		{"vital", strings.Replace(good, "heart_rate", "hr", 1), `p.csv:2:19: there is no vital "hr"; right would be heart_rate, resp_rate, temperature, crt, body_condition`},
		{"unit", strings.Replace(good, "/min", "/s", 1), `p.csv:2:30: the unit "/s" is none of heart_rate; right would be /min`},
		{"confidence", strings.Replace(good, "read", "seen", 1), `p.csv:2:55: the confidence "seen" should be read, relay, memory`},
		{"key", strings.Replace(good, "S01", "", 1), "p.csv:2:51: the key of the source is left out; only a figure from memory has none"},
		{"nothing said", strings.Replace(good, "70,120", ",", 1), "p.csv:2:37: there is neither a range nor what is said in its place, such as mean 38.6"},
	} {
		_, problems := publishedRows("p.csv", []byte(head+row.text))
		var lines []string
		for _, p := range problems {
			lines = append(lines, p.Error())
		}
		require.Equal(t, row.want, strings.Join(lines, "\n"), row.name)
	}
}

func TestOverlay(t *testing.T) {
	small, _ := Lookup("dog", 1000, 5000, "heart_rate")
	own := "\xef\xbb\xbf# ours since spring\r\n" + header + `dog.small.heart_rate,dog,small,113,,0,9999,heart_rate,/min,80,"150",70,170,"our clinic, ""large"" hall",derived` + "\r\n" + aRow
	o, problems := Overlay("own.csv", []byte(own))
	require.Empty(t, problems)
	require.Equal(t, []string{"dog.small.heart_rate"}, o.Replaced)
	require.Equal(t, []string{"school.whippet"}, o.Added)
	require.Len(t, o.Table, len(Rows())+1)

	got, ok := o.Table.Lookup("dog", 1000, 5000, "heart_rate")
	require.True(t, ok)
	require.Equal(t, "80 to 150", Between(got.Low, got.High, got.Unit))
	require.Equal(t, `our clinic, "large" hall`, got.Source)
	got, _ = o.Table.Lookup("dog", 400, 9500, "heart_rate")
	require.Equal(t, "school.whippet", got.ID, "a new row wins over ours")
	got, _ = o.Table.Lookup("dog", 399, 9500, "heart_rate")
	require.Equal(t, "dog.small.heart_rate", got.ID)
	same, _ := o.Table.Lookup("dog", 1000, 5000, "temperature")
	ours, _ := Lookup("dog", 1000, 5000, "temperature")
	require.Equal(t, ours, same)
	require.True(t, o.Own("school.whippet") && o.Own("dog.small.heart_rate") && !o.Own("dog.small.temperature"))

	// What is kept with an attempt reads as the same table, and ours is untouched.
	again, err := Parse(o.Text)
	require.NoError(t, err)
	require.Equal(t, o.Table, again)
	kept, err := Kept(o.Text)
	require.NoError(t, err)
	require.Equal(t, o, kept, "which rows were the school's own is kept too")
	kept, err = Kept(Data())
	require.NoError(t, err)
	require.Equal(t, Ours(), kept)
	_, err = Kept([]byte(replacedMark + "a\n"))
	require.Error(t, err)
	twice, _ := Overlay("own.csv", []byte(own))
	require.Equal(t, o.Text, twice.Text)
	after, _ := Lookup("dog", 1000, 5000, "heart_rate")
	require.Equal(t, small, after)
}

// A table that an earlier version kept is read even where today's check would
// complain: the attempt goes on with what it began with.
func TestAnEarlierTableIsRead(t *testing.T) {
	text := header + strings.Replace(aRow, "heart_rate,/min", "heart_beats,bpm", 1)
	table, err := Parse([]byte(text))
	require.NoError(t, err)
	require.Equal(t, "heart_beats", table[0].Vital)
	for _, bad := range []string{"", "a,b\n", header, header + "1,2\n", header + strings.Replace(aRow, ",60,", ",sixty,", 1)} {
		_, err := Parse([]byte(bad))
		require.Error(t, err, bad)
	}
}

// FuzzOverlay: any bytes give a table or problems with places, never both; what
// is kept reads as the same table.
func FuzzOverlay(f *testing.F) {
	f.Add([]byte(header + aRow))
	f.Add([]byte(header + aRow + strings.Replace(aRow, "school", "other", 1)))
	f.Add([]byte("\xef\xbb\xbf" + header + "\"\n"))
	f.Add(data)
	f.Fuzz(func(t *testing.T, own []byte) {
		o, problems := Overlay("own.csv", own)
		for _, p := range problems {
			require.Positive(t, p.Line)
			require.Positive(t, p.Col)
			require.NotContains(t, p.Message, "\n")
		}
		if len(problems) > 0 {
			require.True(t, bytes.Equal(data, o.Text))
			return
		}
		again, err := Kept(o.Text)
		require.NoError(t, err)
		require.Equal(t, o, again)
	})
}

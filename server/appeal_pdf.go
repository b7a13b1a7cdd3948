package server

import (
	"bytes"
	"fmt"
	"strings"
	"sync"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
)

// Measures of a page, in millimetres, and of its letters, in points: A4 with a
// margin for notes, a column of times or labels, the text, and figures.
const (
	pdfMargin = 20.0
	pdfWidth  = 210 - 2*pdfMargin
	pdfLeft   = 36.0
	pdfRight  = 27.0
	pdfLine   = 4.6
	pdfSize   = 9.5
	pdfBottom = 297 - pdfMargin
)

// pdf sets the document. The letters are in the file, so that it reads alike
// everywhere.
func (d appealDoc) pdf(now time.Time) ([]byte, error) {
	f := fpdf.New("P", "mm", "A4", "")
	f.SetCatalogSort(true)
	f.SetCreationDate(now.UTC())
	f.SetModificationDate(now.UTC())
	f.SetTitle(pdfText(d.title), true)
	f.SetLang("en")
	f.AddUTF8FontFromBytes("go", "", goregular.TTF)
	f.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	f.SetMargins(pdfMargin, pdfMargin, pdfMargin)
	f.SetAutoPageBreak(false, pdfMargin)
	f.AliasNbPages("{pages}")
	f.SetFooterFunc(func() {
		f.SetY(-12)
		f.SetFont("go", "", 8)
		f.CellFormat(pdfWidth/2, 4, pdfText(d.about), "", 0, "L", false, 0, "")
		f.CellFormat(pdfWidth/2, 4, fmt.Sprintf("page %d of {pages}", f.PageNo()), "", 0, "R", false, 0, "")
	})
	f.AddPage()
	f.SetFont("go", "B", 15)
	f.MultiCell(pdfWidth, 7, pdfText(d.title), "", "L", false)
	f.SetFont("go", "", pdfSize)
	f.MultiCell(pdfWidth, pdfLine, caution, "", "L", false)
	for _, s := range d.sections {
		setSection(f, s)
	}
	var buf bytes.Buffer
	err := f.Output(&buf)
	return buf.Bytes(), err
}

func setSection(f *fpdf.Fpdf, s appealSection) {
	room(f, 20)
	f.Ln(5)
	f.SetFont("go", "B", 12)
	f.MultiCell(pdfWidth, 6, pdfText(s.title), "B", "L", false)
	f.Ln(1.5)
	wide := true // nothing stands in the margin
	for _, l := range s.lines {
		wide = wide && l.left == ""
	}
	for _, l := range s.lines {
		setLine(f, l, wide)
	}
}

// setLine sets one line in its three columns; a long text goes on below itself.
func setLine(f *fpdf.Fpdf, l appealLine, wide bool) {
	style, left := "", pdfLeft
	if l.strong {
		style = "B"
		f.Ln(1.5)
	}
	if wide {
		left = 0
	}
	f.SetFont("go", style, pdfSize)
	width := pdfWidth - left
	if l.right != "" {
		width -= pdfRight
	}
	lines := wrapped(f, pdfText(l.text), width-1)
	for i, text := range lines {
		room(f, pdfLine)
		f.SetX(pdfMargin)
		if !wide {
			f.CellFormat(left, pdfLine, pdfText(when(i == 0, l.left)), "", 0, "L", false, 0, "")
		}
		f.CellFormat(width, pdfLine, text, "", 0, "L", false, 0, "")
		if l.right != "" {
			f.CellFormat(pdfRight, pdfLine, pdfText(when(i == 0, l.right)), "", 0, "R", false, 0, "")
		}
		f.Ln(pdfLine)
	}
	f.Ln(.8)
}

func when(is bool, text string) string {
	if is {
		return text
	}
	return ""
}

// room goes to the next page where so many millimetres are not left.
func room(f *fpdf.Fpdf, mm float64) {
	if f.GetY()+mm > pdfBottom {
		f.AddPage()
	}
}

// wrapped breaks a text into lines of a width, also within a word that is longer,
// such as a hash. It keeps the breaks that are there.
func wrapped(f *fpdf.Fpdf, text string, width float64) (lines []string) {
	for _, part := range strings.Split(text, "\n") {
		line := ""
		for _, word := range strings.Fields(part) {
			for _, piece := range pieces(f, word, width) {
				next := strings.TrimLeft(line+" "+piece, " ")
				if line != "" && f.GetStringWidth(next) > width {
					lines, next = append(lines, line), piece
				}
				line = next
			}
		}
		lines = append(lines, line)
	}
	return lines
}

// pieces cuts a word that is wider than a line.
func pieces(f *fpdf.Fpdf, word string, width float64) (out []string) {
	for f.GetStringWidth(word) > width {
		letters := []rune(word)
		n := len(letters)
		for n > 1 && f.GetStringWidth(string(letters[:n])) > width {
			n--
		}
		out, word = append(out, string(letters[:n])), string(letters[n:])
		if word == "" {
			return out
		}
	}
	return append(out, word)
}

// letters is the font that text is set in, to be asked what it has.
var letters = sync.OnceValues(func() (*sfnt.Font, error) { return sfnt.Parse(goregular.TTF) })

// pdfText writes letters that the font does not have by their number, so that
// nothing is left out silently, and drops what is no letter.
func pdfText(text string) string {
	font, err := letters()
	if err != nil {
		return text
	}
	var buf sfnt.Buffer
	var out strings.Builder
	for _, r := range text {
		switch i, err := font.GlyphIndex(&buf, r); {
		case r == '\n':
			out.WriteRune(r)
		case r < ' ':
			out.WriteRune(' ')
		case err != nil || i == 0:
			fmt.Fprintf(&out, "[U+%04X]", r)
		default:
			out.WriteRune(r)
		}
	}
	return out.String()
}

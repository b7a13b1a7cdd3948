package server

import (
	"html/template"
	"slices"
)

// pageFuncs are what templates can call beside the methods of their page: nothing yet
// that a page struct could not hold ready.
var pageFuncs = template.FuncMap{}

// rowMaker makes the row of a page from its name and a filled example.
type rowMaker func(name string, example based) pageRow

// withPart is the row of a page that shares a part with another page.
func withPart(r pageRow, part string) pageRow {
	r.files = append(r.files, "parts/"+part+".html")
	return r
}

// pages is the table of all pages: a name, the template files below
// web/templates with the layout first, and a filled example.
func pages() []pageRow {
	var row rowMaker = func(name string, example based) pageRow {
		return pageRow{name, []string{"layout.html", "pages/" + name + ".html"}, example}
	}
	return slices.Concat([]pageRow{
		row("login", exampleLogin()),
		row("setup", firstPage(setupForm{Token: "token", Name: "Ada Example", Login: "ada"})),
		row("patients", examplePatients()),
		row("room", exampleRoom()),
		row("grading", &gradingPage{Base: Base{Title: "Being marked"}, ID: "v1", Patient: "Bramble"}),
		row("finish", exampleFinish()),
		row("debrief", exampleDebrief()),
		row("who", &whoPage{Base: Base{Title: "Who may what"}, Roles: []string{"student", "instructor"}, Rows: []rightRow{{"Examine a patient", []bool{true, false}}}}),
		row("people", examplePeople()),
		row("soundcheck", exampleSoundCheck()),
		row("settings", settingsPageOf(settled{"weight": "lb"})),
		row("ranges", exampleRanges()),
		row("rubrics", exampleRubrics()),
		row("rubric", exampleRubric()),
		withPart(row("regrade", exampleRegrade()), "changes"),
		row("error", &errorPage{Base: Base{Title: "Not found"}, Status: 404, Text: "There is nothing here that you may see.", Request: "ABCDEFGH"}),
	}, cohortPages(row), assignmentPages(row), sittingPages(row), markPages(row), privacyPages(row), expertPages(row), drillPages(row), forecastPages(row), studyPages(row), againPages(row))
}

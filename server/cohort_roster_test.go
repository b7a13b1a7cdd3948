package server

import (
	"archive/zip"
	"bytes"
	"context"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"dewclaw/server/store"

	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/charmap"
)

// upload sends a roster through the page, as a browser does.
func (c *client) upload(cohort string, data []byte, fields ...string) *reply {
	c.sc.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for _, f := range fields {
		name, value, _ := strings.Cut(f, "=")
		require.NoError(c.sc.t, w.WriteField(name, value))
	}
	part, err := w.CreateFormFile("file", "people.csv")
	require.NoError(c.sc.t, err)
	_, err = part.Write(data)
	require.NoError(c.sc.t, err)
	require.NoError(c.sc.t, w.Close())
	c.header = map[string]string{"Content-Type": w.FormDataContentType()}
	defer func() { c.header = nil }()
	return c.send("POST", "/cohorts/"+cohort+"/roster", b.Bytes())
}

var seenShape = regexp.MustCompile(`name="seen" value="([0-9a-f]+)"`)

// look reads the preview and what it is called.
func (c *client) look(path string) (page, seen string) {
	c.sc.t.Helper()
	page = string(c.get(path).is(http.StatusOK).body)
	m := seenShape.FindStringSubmatch(page)
	require.NotNil(c.sc.t, m, "there is no preview")
	return page, m[1]
}

func (sc *school) logins() map[string]string {
	all, err := sc.s.store.Members(sc.t.Context(), sc.cohort)
	require.NoError(sc.t, err)
	out := map[string]string{}
	for _, m := range all {
		out[m.Login] = m.Role + " " + m.Name
	}
	return out
}

func TestARosterIsLookedAtThenDone(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	other, err := sc.s.store.AddCohort(t.Context(), "First year", sc.idOf("instructor"), true)
	require.NoError(t, err)
	untaught, err := sc.s.store.AddCohort(t.Context(), "Evening class", "", false)
	require.NoError(t, err)
	moved, err := sc.s.store.AddPerson(t.Context(), store.NewPerson{Login: "moved", Role: "student", Name: "Mo Ved", Number: "50"})
	require.NoError(t, err)
	for _, id := range []string{other.ID, untaught.ID} {
		require.NoError(t, sc.s.store.SetMember(t.Context(), id, moved.ID, "student", store.Note{Deed: "test"}))
	}
	list := "number,login,name,email,role\n" +
		",student,Person Renamed,kim@example.org,\n" + // changed
		"50,moved,Mo Ved,,\n" + // from elsewhere
		"60,new.one,New One,,\n" +
		"61,,,,\n" + // a problem
		"62,boss,New Boss,,instructor\n" + // not an instructor's to make
		",instructor,Other Name,evil@example.org,instructor\n" + // no roster of an instructor's renames one
		",coordinator,X,,\n"
	c.upload(sc.cohort, []byte(list), "whole=yes").is(http.StatusSeeOther)
	page, seen := c.look(path + "?whole=yes")
	before := sc.logins()
	for _, told := range []string{"people.csv", "address: kim@example.org", "name: Person Renamed, was Person student", "from Evening class, First year", "New One", "every row needs a name",
		"only a coordinator makes somebody an instructor", "is a coordinator and is not moved", "those that you do not teach stay as they are", "More than a fifth"} {
		require.Contains(t, page, told)
	}
	require.NotContains(t, page, "evil@example.org")
	require.Equal(t, before, sc.logins(), "nothing is done before it is asked for")

	do := func(body string) *reply { return c.form(path+"/do", "whole=yes&seen="+body) }
	require.Contains(t, string(do(seen).is(http.StatusUnprocessableEntity).body), "Tick the box")
	require.Contains(t, string(c.form(path+"/do", "seen="+seen+"&sharp=yes").is(http.StatusConflict).body), "other boxes are ticked")
	require.Equal(t, before, sc.logins())
	do(seen + "&sharp=yes&leave=yes").is(http.StatusSeeOther)
	require.Empty(t, sc.ended(taskRoster).Wrong)
	require.Equal(t, map[string]string{"student": "student Person Renamed", "moved": "student Mo Ved", "new.one": "student New One",
		"instructor": "instructor Person instructor"}, sc.logins(), "who teaches stays, though the roster does not name all")
	left, err := sc.s.store.MemberOf(t.Context(), moved.ID)
	require.NoError(t, err)
	require.Len(t, left, 2, "of the other cohorts only the one that the sender teaches is left")
	for _, m := range left {
		require.NotEqual(t, other.ID, m.Cohort)
	}
	page = string(c.get(path).is(http.StatusOK).body)
	require.Contains(t, page, "The last roster was entered")
	require.Contains(t, page, "1 new, 1 moved, 1 changed, 1 unchanged, 1 leaving")
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "cohort:" + sc.cohort, Limit: 1})
	require.NoError(t, err)
	require.Equal(t, "enrol by roster", notes[0].Deed)

	// The same file again changes nothing.
	c.upload(sc.cohort, []byte(list), "whole=yes").is(http.StatusSeeOther)
	page, _ = c.look(path + "?whole=yes")
	require.Contains(t, page, "There is nothing to do")
	c.form(path, "deed=forget").is(http.StatusSeeOther)
	require.NotRegexp(t, seenShape, string(c.get(path).body))
}

func TestWhatChangedMeanwhileIsLookedAtAgain(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	list := []byte("number,name\n60,New One\n")
	c.upload(sc.cohort, list).is(http.StatusSeeOther)
	_, seen := c.look(path)
	sc.enrolled("60", "")
	require.Contains(t, string(c.form(path+"/do", "seen="+seen).is(http.StatusConflict).body), "Somebody has changed people")

	// It is kept for half an hour, for this person and this cohort only; also over a restart, and on another server of the school.
	sc.as("coordinator").form(path+"/do", "seen="+seen).is(http.StatusConflict)
	require.NotRegexp(t, seenShape, string(sc.as("coordinator").get(path).body))
	sc.clock.Pass(31 * time.Minute)
	c = sc.as("instructor")
	require.NotRegexp(t, seenShape, string(c.get(path).body))
	require.Contains(t, string(c.form(path+"/do", "seen="+seen).is(http.StatusConflict).body), "no longer kept")
	c.upload(sc.cohort, list).is(http.StatusSeeOther)
	_, seen = c.look(path)
	sc.restart()
	sc.as("instructor").form(path+"/do", "seen="+seen).is(http.StatusSeeOther)
	sc.ended(taskRoster)
}

// While a roster is entered its progress is told, also after a reload, and a
// second is refused.
func TestASecondRosterWaits(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	hold := make(chan struct{})
	require.NoError(t, sc.s.startTask(t.Context(), taskRoster, sc.cohort, sc.idOf("coordinator"), 300, func(_ context.Context, task *task) (string, error) {
		task.change(func(st *taskState) { st.Done = 100 })
		<-hold
		return "", nil
	}))
	require.Eventually(t, func() bool { return sc.task(taskRoster).Done == 100 }, 5*time.Second, time.Millisecond)
	for range 2 {
		require.Contains(t, string(c.get(path).is(http.StatusOK).body), "100 of 300 done")
	}
	var is taskAnswer
	c.get("/api/v1" + path).is(http.StatusOK).into(&is)
	require.Equal(t, taskAnswer{State: "running", Done: 100, Total: 300}, is)
	c.upload(sc.cohort, []byte("number,name\n60,New One\n")).is(http.StatusSeeOther)
	_, seen := c.look(path)
	require.Contains(t, string(c.form(path+"/do", "seen="+seen).is(http.StatusConflict).body), "100 of 300 done. Wait until it has ended")
	require.Error(t, sc.s.startTask(t.Context(), taskRoster, sc.cohort, "", 1, nil), "nor is it begun past the page")
	close(hold)
	sc.ended(taskRoster)
	_, seen = c.look(path)
	c.form(path+"/do", "seen="+seen).is(http.StatusSeeOther)
	sc.ended(taskRoster)
	require.Contains(t, sc.logins(), "60")
}

// What breaks off says how far it came, keeps that, and can be done again.
func TestARosterThatBreaksOff(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	var list strings.Builder
	list.WriteString("number,name\n")
	for i := range 250 {
		fmt.Fprintf(&list, "%d,Somebody %d\n", 1000+i, i)
	}
	c.upload(sc.cohort, []byte(list.String())).is(http.StatusSeeOther)
	k, ok, err := sc.s.keptRoster(t.Context(), sc.idOf("instructor"), sc.cohort)
	require.NoError(t, err)
	require.True(t, ok)
	me := facePerson(store.Person{ID: sc.idOf("instructor"), Role: "instructor"})
	p, err := sc.s.planRoster(t.Context(), me, sc.cohort, k, false)
	require.NoError(t, err)
	sc.enrolled("1220", "") // somebody is faster
	lines := p.lines(false)
	require.NoError(t, sc.s.startTask(t.Context(), taskRoster, sc.cohort, me.ID, len(lines), sc.s.enrolment(sc.cohort, me.ID, p, lines)))
	is := sc.ended(taskRoster)
	require.Equal(t, 200, is.Done)
	require.Contains(t, string(c.get(path).body), "200 of 250 lines were done")
	notes, err := sc.s.store.Notes(t.Context(), store.NoteFilter{About: "cohort:" + sc.cohort, Limit: 1})
	require.NoError(t, err)
	require.Equal(t, "200 of 250 lines were done", notes[0].Detail)
	_, seen := c.look(path)
	c.form(path+"/do", "seen="+seen).is(http.StatusSeeOther)
	require.Empty(t, sc.ended(taskRoster).Wrong)
	require.Len(t, sc.logins(), 253)
}

func TestBadRosters(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	west, err := charmap.Windows1252.NewEncoder().String("number;name\n60;Ödön Ágoston\n")
	require.NoError(t, err)
	for name, row := range map[string]struct {
		data string
		told []string
	}{
		"formulas":          {"number,name\n60,=cmd|' /C calc'!A0\n61,Fine\n", []string{"begins like a formula", `<td class="n">2</td><td>name</td>`, "Fine"}},
		"a byte-order mark": {"\xef\xbb\xbfnumber,name\n60,Ödön\n", []string{"Ödön"}},
		"Windows-1252":      {west, []string{"Ödön Ágoston"}},
		"duplicate ids":     {"number,name\n60,One\n60,Two\n", []string{"the same number or login as in line 2", `<td class="n">3</td>`}},
		"markup is a name":  {"number,name\n60,<script>alert(1)</script>\n", []string{"&lt;script&gt;"}},
		"a lone quote":      {"number,name\n60,\"One\n", []string{"a quotation mark is not closed"}},
	} {
		c.upload(sc.cohort, []byte(row.data)).is(http.StatusSeeOther)
		page, _ := c.look(path)
		for _, told := range row.told {
			require.Contains(t, page, told, name)
		}
		require.NotContains(t, page, "<script>alert", name)
	}
	c.form(path, "deed=forget").is(http.StatusSeeOther)

	var book bytes.Buffer
	f := excelize.NewFile()
	for at, v := range map[string]string{"A1": "number", "B1": "name", "A2": "60"} {
		require.NoError(t, f.SetCellValue("Sheet1", at, v))
	}
	require.NoError(t, f.SetCellFormula("Sheet1", "B2", `HYPERLINK("http://x.example","Ash")`))
	require.NoError(t, f.Write(&book))
	c.upload(sc.cohort, book.Bytes()).is(http.StatusSeeOther)
	page, _ := c.look(path)
	require.Contains(t, page, "begins like a formula")
	require.Contains(t, page, "There is nothing to do")

	// A whole file that is none: said at once, and the one before stays.
	for name, row := range map[string]struct {
		data []byte
		told string
	}{
		"nothing":   {nil, "no header row"},
		"an image":  {[]byte("\x89PNG\r\n\x1a\n\x00\x00"), "as a spreadsheet (.xlsx) without a password"},
		"columns":   {[]byte("colour,shape\nred,round\n"), "The first row must name the columns. Not found: number or login; name, or family and given"},
		"a bomb":    {bomb(t, book.Bytes()), "neither a CSV nor an XLSX"},
		"too many":  {[]byte("number,name\n" + strings.Repeat("1,x\n", 20_001)), "more than 20000 rows"},
		"too large": {bytes.Repeat([]byte("number,name\n"), (8<<20)/12+1), "larger than 8 MB"},
	} {
		got := string(c.upload(sc.cohort, row.data).is(http.StatusUnprocessableEntity).body)
		require.Contains(t, got, row.told, name)
		require.Regexp(t, seenShape, got, name)
	}
	got := string(c.upload(sc.cohort, make([]byte, 20<<20)).is(http.StatusRequestEntityTooLarge).body)
	require.Contains(t, got, "The body is too large")
	require.Contains(t, string(c.form(path, "whole=yes").is(http.StatusUnprocessableEntity).body), "Choose a file")
	c.send("POST", "/api/v1"+path, make([]byte, 20<<20)).problem(http.StatusRequestEntityTooLarge, "too-large")
	sc.as("student").upload(sc.cohort, []byte("number,name\n60,x\n")).is(http.StatusForbidden)
	require.Len(t, sc.logins(), 3)
}

// bomb is a workbook whose sheet unpacks to 100 MB.
func bomb(t *testing.T, book []byte) []byte {
	in, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	require.NoError(t, err)
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range in.File {
		part, err := w.Create(f.Name)
		require.NoError(t, err)
		r, err := f.Open()
		require.NoError(t, err)
		_, err = new(bytes.Buffer).ReadFrom(r)
		require.NoError(t, err)
		if f.Name == "xl/worksheets/sheet1.xml" {
			for range 100 {
				_, err = part.Write(bytes.Repeat([]byte(" "), 1<<20))
				require.NoError(t, err)
			}
		}
	}
	require.NoError(t, w.Close())
	require.Less(t, out.Len(), 1<<20, "small on the wire")
	return out.Bytes()
}

func TestRosterThroughTheAPI(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/api/v1/cohorts/"+sc.cohort+"/roster"
	var is taskAnswer
	c.get(path).is(http.StatusOK).into(&is)
	require.Equal(t, "none", is.State)
	c.header = map[string]string{"Content-Type": "application/octet-stream"}
	var p previewAnswer
	c.send("POST", path+"?whole=yes", "number,name\n60,New One\n61\n").is(http.StatusOK).into(&p)
	c.header = nil
	require.Equal(t, []changeAnswer{{2, "new", "60", "New One", "student", nil, ""}}, p.Changes[:1])
	require.Len(t, p.Changes, 3, "and two leave")
	require.True(t, p.Sharp)
	require.Equal(t, 3, p.Problems[0].Line)
	c.send("POST", path+"/do", doRosterForm{Seen: p.Seen, Whole: true}).problem(http.StatusUnprocessableEntity, "invalid")
	c.send("POST", path+"/do", doRosterForm{Seen: p.Seen, Whole: true, Sharp: true}).is(http.StatusAccepted).into(&is)
	sc.ended(taskRoster)
	c.get(path).is(http.StatusOK).into(&is)
	require.Equal(t, taskAnswer{State: "done", Done: 3, Total: 3, Text: "1 new, 2 leaving."}, is)
	c.send("POST", path+"/do", doRosterForm{Seen: p.Seen}).problem(http.StatusConflict, "not-now")
	c.get(strings.Replace(path, "roster", "mail", 1)).is(http.StatusOK).into(&is)
	require.Equal(t, "none", is.State)
}

// 5,000 people, through the page. -v prints how long each part took.
func TestARosterOfFiveThousand(t *testing.T) {
	sc := newSchool(t)
	c, path := sc.as("instructor"), "/cohorts/"+sc.cohort+"/roster"
	var list strings.Builder
	list.WriteString("number,family,given,email\n")
	for i := range 5000 {
		fmt.Fprintf(&list, "%d,Family%d,Given,s%d@example.org\n", 100000+i, i, i)
	}
	began := time.Now()
	lap := func(what string) { t.Logf("%s: %d ms", what, time.Since(began).Milliseconds()); began = time.Now() }
	c.upload(sc.cohort, []byte(list.String())).is(http.StatusSeeOther)
	lap("read and keep")
	page, seen := c.look(path)
	lap("look")
	require.Contains(t, page, "Page 1 of 50")
	require.Contains(t, string(c.get(path+"?show=new&page=50").body), "104999")
	began = time.Now()
	c.form(path+"/do", "seen="+seen).is(http.StatusSeeOther)
	is := sc.ended(taskRoster)
	lap("enrol")
	require.Empty(t, is.Wrong)
	require.Equal(t, 5000, is.Done)
	c.upload(sc.cohort, []byte(list.String()), "whole=yes").is(http.StatusSeeOther)
	began = time.Now()
	page, _ = c.look(path + "?whole=yes")
	lap("look again")
	require.Contains(t, page, `<span class="figures">5000</span>`)
	require.Contains(t, string(c.get("/cohorts/"+sc.cohort+"?find="+url.QueryEscape("family4321")).body), "Family4321")
	lap("search in the cohort")
}

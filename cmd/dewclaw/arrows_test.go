package main

import (
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// arrow forbids every package under From to import anything under To, test
// files left out.
type arrow struct{ From, To, Why string }

var forbidden = []arrow{
	{"dewclaw/rubric", "dewclaw/cases", "a grade must not depend on a simulator that may change later"},
	{"dewclaw/rubric", "dewclaw/server", "the engine is pure: it knows no server"},
	{"dewclaw/rubric", "dewclaw/web", "the engine is pure: it knows no pages"},
	{"dewclaw/rubric", "net/http", "the engine does no I/O over a network"},
	{"dewclaw/rubric", "math/rand", "the same input must give the same bytes"},
	{"dewclaw/rubric", "math/rand/v2", "the same input must give the same bytes"},
	{"dewclaw/rubric", "github.com/gin-gonic/gin", "gin belongs to the server"},
	{"dewclaw/rubric", "gorm.io", "gorm belongs to the store"},
	{"dewclaw/cases", "dewclaw/server", "a patient knows no server"},
	{"dewclaw/cases", "dewclaw/web", "a patient knows no pages"},
	{"dewclaw/cases", "net/http", "a patient does no I/O over a network"},
	{"dewclaw/cases", "github.com/gin-gonic/gin", "gin belongs to the server"},
	{"dewclaw/cases", "gorm.io", "gorm belongs to the store"},
	{"dewclaw/cases/senses", "dewclaw", "a renderer takes numbers, so that it can be heard and seen without a patient"},
	{"dewclaw/cases/robot", "dewclaw/rubric/cohort", "robots and the figures that judge them know nothing of each other"},
	{"dewclaw/cases/drill", "dewclaw/cases/robot", "a drill is for students and knows no robot"},
	{"dewclaw/cases/drill", "math/rand", "the same seed must give the same drill"},
	{"dewclaw/cases/drill", "math/rand/v2", "the same seed must give the same drill"},
	{"dewclaw/cases/drill", "time", "a drill knows no clock"},
	{"dewclaw/rubric/cohort", "dewclaw/cases", "robots and the figures that judge them know nothing of each other"},
	{"dewclaw/web", "dewclaw", "templates and files know nothing of ours"},
	{"dewclaw/server/face", "dewclaw", "what a student may see must not be able to reach a truth"},
	{"dewclaw/server/auth", "dewclaw/server/store", "who may what is decided without a database"},
	{"dewclaw/server/auth", "dewclaw/cases", "who may what is decided without a patient"},
	{"dewclaw/server/study", "dewclaw/cases", "what to practise next is said of judgements, not of patients"},
	{"dewclaw/server/study", "dewclaw/server/store", "study is pure: it is handed what it judges"},
	{"dewclaw/server/study", "dewclaw/server/face", "study is pure: what is shown is made of it"},
	{"dewclaw/server/study", "math/rand/v2", "the same offers stay until something new was done"},
	{"dewclaw/server/study", "net/http", "study does no I/O"},
	{"dewclaw/server/store", "dewclaw/server/face", "rows and faces are two shapes"},
	{"dewclaw/server/store", "github.com/gin-gonic/gin", "gin belongs to the server"},
	{"dewclaw/server/store", "dewclaw/web", "the store knows no pages"},
}

// allowed are the exceptions, each with its reason.
var allowed = []struct{ From, To, Why string }{
	{"dewclaw/rubric/cohort", "math/rand/v2", "resampling takes its seed as an argument and returns it with the figure: the same seed, the same bytes"},
}

// excepted reports whether an import is one of the exceptions.
func excepted(from, to string) bool {
	for _, a := range allowed {
		if a.From == from && a.To == to {
			return true
		}
	}
	return false
}

// only says which packages may import To; everybody else may not.
var only = []struct {
	To    string
	Rooms []string
	Why   string
}{
	{"github.com/gin-gonic/gin", []string{"dewclaw/server"}, "one router, in one place"},
	{"gorm.io", []string{"dewclaw/server/store"}, "one place speaks to the database"},
	{"github.com/jackc", []string{"dewclaw/server/store", "dewclaw/server/store/storetest"}, "nor does anybody else speak to PostgreSQL past it"},
	{"github.com/golang-jwt", []string{"dewclaw/server/auth"}, "one place makes and believes tokens"},
}

// imports returns what every package of the project imports, test files left out.
func imports(t *testing.T) map[string][]string {
	t.Helper()
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}}{{range .Imports}} {{.}}{{end}}`, "dewclaw/...").Output()
	require.NoError(t, err)
	all := map[string][]string{}
	for line := range strings.Lines(string(out)) {
		words := strings.Fields(line)
		all[words[0]] = words[1:]
	}
	require.Contains(t, all, "dewclaw/rubric")
	return all
}

func within(path, room string) bool {
	return path == room || strings.HasPrefix(path, room+"/")
}

func TestArrowsPointInward(t *testing.T) {
	for from, list := range imports(t) {
		for _, to := range list {
			for _, a := range forbidden {
				inside := within(to, a.From) // a room may use its own parts
				if within(from, a.From) && within(to, a.To) && !inside && !excepted(from, to) {
					t.Errorf("%s imports %s: %s", from, to, a.Why)
				}
			}
			for _, o := range only {
				if within(to, o.To) && !slices.Contains(o.Rooms, from) {
					t.Errorf("%s imports %s: %s", from, to, o.Why)
				}
			}
		}
	}
}

// TestEngineStandsAlone holds that rubric itself needs the standard library only.
func TestEngineStandsAlone(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", "-f", `{{if not .Standard}}{{.ImportPath}}{{end}}`, "dewclaw/rubric").Output()
	require.NoError(t, err)
	require.Equal(t, "dewclaw/rubric", strings.TrimSpace(string(out)))
}

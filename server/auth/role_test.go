package auth

import (
	"go/ast"
	"go/parser"
	"go/token"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestWhoMayWhat spells the matrix out a second time, so that a change of one
// cell is a change in two places.
func TestWhoMayWhat(t *testing.T) {
	const student, instructor, coordinator = "S", "I", "C"
	want := map[Action]string{
		Practise:       student + instructor + coordinator,
		SeeOwn:         student + instructor + coordinator,
		SeeAll:         instructor + coordinator,
		SeeTruth:       instructor + coordinator,
		SeePeople:      instructor + coordinator,
		SeeMatrix:      instructor + coordinator,
		SeeRubrics:     instructor + coordinator,
		Regrade:        instructor + coordinator,
		GrantSounds:    instructor + coordinator,
		ManageCohorts:  instructor + coordinator,
		SetAssignments: instructor + coordinator,
		Invigilate:     instructor + coordinator,
		Mark:           instructor + coordinator,
		SeeLog:         instructor + coordinator,
		ManagePeople:   coordinator,
		ErasePeople:    coordinator,
		ManageSettings: coordinator,
	}
	require.Len(t, Matrix(), len(want))
	letters := map[Role]string{Student: student, Instructor: instructor, Coordinator: coordinator}
	for _, rule := range Matrix() {
		require.NotEmpty(t, rule.Label)
		for _, role := range Roles() {
			require.Equal(t, strings.Contains(want[rule.Action], letters[role]), May(role, rule.Action), "%s %s", role, rule.Action)
		}
	}
}

func TestUnknownIsNobody(t *testing.T) {
	require.False(t, May("", Practise))
	require.False(t, May("Student", Practise))
	require.False(t, May(Coordinator, ""))
	require.False(t, May(Coordinator, "anything"))
	require.True(t, Instructor.Valid())
	require.False(t, Role("examiner").Valid())
}

func TestThePageCannotChangeTheMatrix(t *testing.T) {
	rows := Matrix()
	rows[0].Roles[0] = "intruder"
	rows[len(rows)-1].Action = "x"
	require.False(t, May("intruder", Practise))
	require.True(t, May(Instructor, SeeMatrix))
}

// TestEveryActionHasItsRow reads the constants out of the source: one without a
// row would be nobody's without a word.
func TestEveryActionHasItsRow(t *testing.T) {
	file, err := parser.ParseFile(token.NewFileSet(), "role.go", nil, 0)
	require.NoError(t, err)
	rows := map[string]bool{}
	for _, r := range Matrix() {
		rows[string(r.Action)] = true
	}
	found := 0
	ast.Inspect(file, func(n ast.Node) bool {
		spec, ok := n.(*ast.ValueSpec)
		if !ok {
			return true
		}
		if kind, ok := spec.Type.(*ast.Ident); ok && kind.Name == "Action" {
			found++
			require.True(t, rows[strings.Trim(spec.Values[0].(*ast.BasicLit).Value, `"`)], spec.Names[0].Name)
		}
		return true
	})
	require.Equal(t, len(rows), found)
}

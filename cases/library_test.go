package cases

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBuiltinLoads(t *testing.T) {
	l, err := Load(BuiltinFiles())
	require.NoError(t, err)
	require.Empty(t, l.Broken())
	c := l.Catalogue("dog")
	require.NotNil(t, c)
	t.Logf("%d regions, %d steps, %d fields, %d topics, %d problems", len(c.Regions), len(c.Steps), len(c.Fields), len(c.Topics), len(c.Problems))
}

package store_test

import (
	"bytes"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
)

// TestABadBackupIsRefused: each with what is wrong, and no database is made of it.
func TestABadBackupIsRefused(t *testing.T) {
	t.Parallel()
	s := filled(t)
	good, _ := packed(t, s.Store, store.BackupOptions{Keys: true, Files: fstest.MapFS{"library/cases/rex.yaml": {Data: []byte("id: rex\n")}}, Under: []string{"library"}})
	without := func(name string) []byte {
		return remade(t, good, func(_ *store.Manifest, members map[string][]byte) { delete(members, name) })
	}
	line := func(table, from, to string) []byte {
		return remade(t, good, func(_ *store.Manifest, members map[string][]byte) {
			name := "tables/" + table + ".jsonl"
			require.Contains(t, string(members[name]), from)
			members[name] = bytes.Replace(members[name], []byte(from), []byte(to), 1)
		})
	}
	added := func(name string, data []byte) []byte {
		return remade(t, good, func(_ *store.Manifest, members map[string][]byte) { members[name] = data })
	}
	flipped := slices.Clone(good)
	flipped[offset(t, good, "tables/content.jsonl")+9] ^= 1
	for name, c := range map[string]struct {
		data []byte
		kind error
		says string
	}{
		"no zip":             {[]byte("Dear all, this is a letter."), store.ErrBackup, "zip: not a valid zip file"},
		"cut off":            {good[:len(good)-30], store.ErrBackup, "zip"},
		"a bit flipped":      {flipped, store.ErrBackup, ""},
		"no manifest":        {zipped(t, map[string][]byte{"a.txt": []byte("x")}), store.ErrBackup, "it has no manifest.json"},
		"another's manifest": {zipped(t, map[string][]byte{"manifest.json": []byte(`{"format":"other"}`)}), store.ErrBackup, `right would be "dewclaw backup"`},
		"of a newer program": {remade(t, good, func(m *store.Manifest, _ map[string][]byte) { m.Schema = 9999 }), store.ErrNewer, "schema 9999"},
		"a way out":          {added("../../etc/passwd", []byte("x")), store.ErrBackup, "could lead out of the folder"},
		"an absolute way":    {added("/etc/passwd", []byte("x")), store.ErrBackup, "could lead out of the folder"},
		"a way out backward": {added(`files\..\x`, []byte("x")), store.ErrBackup, "could lead out of the folder"},
		"something more":     {added("tables/other.jsonl", nil), store.ErrBackup, "of which its manifest knows nothing"},
		"a bomb":             {added("tables/bomb.jsonl", make([]byte, 64<<20)), store.ErrBackup, "which no file of ours does"},
		"a member less":      {without("tables/acts.jsonl"), store.ErrBackup, ""},
		"a table less": {remade(t, good, func(m *store.Manifest, members map[string][]byte) {
			delete(members, m.Tables[len(m.Tables)-1].Member)
			m.Tables = m.Tables[:len(m.Tables)-1]
		}), store.ErrBackup, "it has no table"},
		"a column less":   {line("acts", `"n":1,`, ``), store.ErrBackup, "tables/acts.jsonl, line 1: 7 columns, right would be 8"},
		"no number":       {line("acts", `"n":1,`, `"n":1.5,`), store.ErrBackup, "column n"},
		"no JSON":         {line("acts", `{`, `[`), store.ErrBackup, "tables/acts.jsonl, line 1"},
		"a row twice":     {line("counters", `{`, `{"name":"audit","value":1}`+"\n{"), store.ErrBackup, ""},
		"a missing owner": {line("attempts", `"person":"`, `"person":"x`), store.ErrConflict, "table attempts, rows 1 to"},
	} {
		c1 := place(t, true)
		b, err := store.OpenBackup(bytes.NewReader(c.data), int64(len(c.data)))
		if err == nil {
			err = store.Restore(t.Context(), c1, b)
		}
		require.ErrorIs(t, err, c.kind, name)
		require.ErrorContains(t, err, c.says, name)
		left, err := filepath.Glob(filepath.Join(filepath.Dir(strings.TrimPrefix(c1.URL, "sqlite:")), "*"))
		require.NoError(t, err)
		require.Empty(t, left, name)
	}
}

package main

import (
	"bytes"
	"context"
	"database/sql"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"dewclaw/server/store"
	"dewclaw/server/store/storetest"
)

// says runs a command and returns what it printed, errors after it.
func says(t *testing.T, code int, args ...string) string {
	t.Helper()
	var out, errw bytes.Buffer
	require.Equal(t, code, run(t.Context(), args, strings.NewReader(""), &out, &errw), "%v: %s%s", args, out.String(), errw.String())
	return out.String() + errw.String()
}

// school is a data folder with the demonstration's people and visits, all marked,
// and a file of its own.
func school(t *testing.T) string {
	t.Helper()
	data := filepath.Join(t.TempDir(), "school")
	s, _, err := openDemo(t.Context(), &demoFlags{data: data, password: "walnut ferry lantern"})
	require.NoError(t, err)
	require.Eventually(t, func() bool {
		left, err := s.Store().ToGrade(t.Context(), 1)
		return err == nil && len(left) == 0
	}, time.Minute, 20*time.Millisecond)
	require.NoError(t, s.Close())
	require.NoError(t, os.WriteFile(filepath.Join(data, "reviews.csv"), []byte("item,digest,by,at,note\n"), 0o600))
	return data
}

func fileOf(data string) string { return "sqlite:" + filepath.Join(data, "dewclaw.db") }

// TestASchoolIsKept: one school for all of it, for to make one takes long.
func TestASchoolIsKept(t *testing.T) {
	data := school(t)
	t.Run("backed up and moved", func(t *testing.T) { keptAndMoved(t, data) })
	t.Run("a locked out coordinator comes back", func(t *testing.T) { comesBack(t, data) })
	t.Run("what is wrong is found", func(t *testing.T) { findsWhatIsWrong(t, data) })
}

// keptAndMoved goes the whole road: back up, verify, restore, move to another
// database and back, and find every report the same.
func keptAndMoved(t *testing.T, data string) {
	dir := t.TempDir()
	found := says(t, 0, "verify", "--data", data)
	require.Contains(t, found, "No problem was found.")
	equal := regexp.MustCompile(`equal to the byte: [1-9][0-9]*,`).FindString(found)
	require.NotEmpty(t, equal, found)

	file := filepath.Join(dir, "school.zip")
	require.Contains(t, says(t, 0, "backup", file, "--data", data, "--with-keys"), "1 files")
	info, err := os.Stat(file)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o600), info.Mode().Perm())
	require.Contains(t, says(t, 1, "backup", file, "--data", data), "is there already and is not overwritten")
	require.Contains(t, says(t, 0, "verify", file), equal)

	again := filepath.Join(dir, "again")
	says(t, 0, "restore", file, "--data", again)
	require.Contains(t, says(t, 0, "verify", "--data", again), equal)
	require.FileExists(t, filepath.Join(again, "reviews.csv"))
	require.Contains(t, says(t, 1, "restore", file, "--data", again), "nothing was restored")

	there := storetest.URL(t)
	if there == "" {
		there = fileOf(filepath.Join(dir, "there"))
	}
	back := fileOf(filepath.Join(dir, "back"))
	require.Contains(t, says(t, 0, "copy", "--from", fileOf(data), "--to", there), "holds the same to the byte")
	require.Contains(t, says(t, 0, "verify", "--database", there), equal)
	require.Contains(t, says(t, 0, "copy", "--from", there, "--to", back), "holds the same to the byte")
	require.Contains(t, says(t, 0, "verify", "--database", back), equal)
	require.Contains(t, says(t, 1, "copy", "--from", fileOf(data), "--to", back), "never overwritten")
	sameReports(t, fileOf(data), back)
}

// sameReports compares what is stored, past all that copied it.
func sameReports(t *testing.T, a, b string) {
	t.Helper()
	read := func(url string) (all [][2]string) {
		db, err := sql.Open("sqlite", "file:"+strings.TrimPrefix(url, "sqlite:"))
		require.NoError(t, err)
		defer db.Close()
		rows, err := db.Query("SELECT transcript || ' ' || total || ' ' || held, packed FROM reports ORDER BY transcript")
		require.NoError(t, err)
		defer rows.Close()
		for rows.Next() {
			var row [2]string
			require.NoError(t, rows.Scan(&row[0], &row[1]))
			all = append(all, row)
		}
		require.NoError(t, rows.Err())
		return all
	}
	one := read(a)
	require.NotEmpty(t, one)
	require.Equal(t, one, read(b))
}

// findsWhatIsWrong breaks one promise after the other behind the store's back.
func findsWhatIsWrong(t *testing.T, data string) {
	db, err := sql.Open("sqlite", "file:"+filepath.Join(data, "dewclaw.db"))
	require.NoError(t, err)
	defer db.Close()
	for _, c := range []struct{ sql, says string }{
		{"DELETE FROM acts WHERE transcript = 1 AND n = 3", "transcript 1: it has "},
		{"UPDATE reports SET total = total + 1000 WHERE transcript = 2", "transcript 2: its report is not the one that its acts, key and rubric give"},
		{"UPDATE reports SET packed = x'0102' WHERE transcript = 3", "reports of transcript 3: the stored report is damaged"},
		{"UPDATE reports SET engine = '0.9.0' WHERE transcript = 4", "1 by 0.9.0"},
		{"UPDATE counters SET value = value + 1 WHERE name = 'audit'", "the log: "},
		{"UPDATE content SET bytes = CAST(bytes || ' ' AS BLOB) WHERE hash = (SELECT rubric_hash FROM attempts WHERE transcript = 5)", "what is stored is another text"},
		{"UPDATE attempts SET state = 'graded' WHERE transcript = 1; DELETE FROM reports WHERE transcript = 1", "transcript 1: it is marked and has no report"},
	} {
		_, err := db.Exec(c.sql)
		require.NoError(t, err)
		require.Contains(t, says(t, 1, "verify", "--data", data), c.says)
	}
}

func TestOldBackupsOfASeriesGo(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	s := storetest.New(t)
	other := filepath.Join(dir, "school-letter.zip")
	require.NoError(t, os.WriteFile(other, nil, 0o600))
	for _, day := range []string{"20260101", "20260103", "20260102"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "school-"+day+"T000000Z.zip"), nil, 0o600))
	}
	require.Contains(t, says(t, 0, "backup", filepath.Join(dir, "school.zip"), "--database", s.URL, "--keep", "2"), "is removed")
	left, err := filepath.Glob(filepath.Join(dir, "school-2*"))
	require.NoError(t, err)
	require.Len(t, left, 2)
	require.Contains(t, left[0], "20260103")
	require.FileExists(t, other)
	require.Contains(t, says(t, 2, "backup", "x.zip", "--keep", "-1"), "no number of backups")
	_, err = s.LastBackup(t.Context())
	require.NoError(t, err)
}

func comesBack(t *testing.T, data string) {
	address, _, _ := started(t, "serve", "--addr", "127.0.0.1:0", "--data", data)
	printed := says(t, 0, "person", "reset", "Coordinator", "--data", data, "--url", address+"/")
	link := regexp.MustCompile(`http://\S+/join\?token=(\S+)`).FindStringSubmatch(printed)
	require.NotNil(t, link, printed)
	jar, err := cookiejar.New(nil)
	require.NoError(t, err)
	const password = "another long walnut"
	got, err := (&http.Client{Jar: jar}).PostForm(address+"/join", url.Values{"token": {link[1]}, "password": {password}, "again": {password}})
	require.NoError(t, err)
	require.NoError(t, got.Body.Close())
	require.Equal(t, http.StatusOK, got.StatusCode)
	var who signedIn
	require.Equal(t, http.StatusCreated, call(t, "POST", address+"/api/v1/session", "", `{"login":"coordinator","password":"`+password+`"}`, &who))
	require.Contains(t, says(t, 1, "person", "reset", "nobody", "--data", data), `nobody signs in as "nobody"; the coordinators are: coordinator`)
}

// TestKeepingRefusals: one sentence each, and nothing is made.
func TestKeepingRefusals(t *testing.T) {
	t.Parallel()
	none := filepath.Join(t.TempDir(), "none")
	letter := filepath.Join(t.TempDir(), "letter.txt")
	require.NoError(t, os.WriteFile(letter, []byte("Dear all"), 0o600))
	for _, c := range []struct {
		code int
		args []string
		says string
	}{
		{1, []string{"backup", filepath.Join(none, "a.zip"), "--data", none}, "is not there; name the folder of the database with --data"},
		{1, []string{"verify", "--data", none}, "is not there; name the folder of the database with --data"},
		{1, []string{"person", "reset", "head", "--data", none}, "is not there; name the folder of the database with --data"},
		{1, []string{"restore", letter, "--data", none}, "not a backup of Dewclaw"},
		{1, []string{"verify", letter}, "not a backup of Dewclaw"},
		{1, []string{"verify", filepath.Join(none, "a.zip")}, "the backup cannot be opened"},
		{2, []string{"backup"}, "takes one word, the file to write"},
		{2, []string{"restore"}, "takes one word, the backup"},
		{2, []string{"copy", "--from", "sqlite:a"}, "copy needs --from and --to"},
		{1, []string{"copy", "--from", "mysql://a", "--to", "sqlite:b"}, "not the URL of a database"},
		{2, []string{"person", "reset"}, "takes one word"},
	} {
		text := says(t, c.code, c.args...)
		require.Contains(t, text, c.says)
		require.Equal(t, 1, strings.Count(strings.TrimSpace(text), "\n")+1, "one sentence: %s", text)
	}
	require.NoDirExists(t, none)
}

func TestACopyIsToldThatItsSourceWentOn(t *testing.T) {
	t.Parallel()
	s := storetest.New(t)
	before, err := s.Backup(t.Context(), new(bytes.Buffer), store.BackupOptions{Keys: true})
	require.NoError(t, err)
	s.MakePerson("student")
	err = sameAfter(context.Background(), s.Store, s.URL, before)
	require.ErrorContains(t, err, "was written to meanwhile (people, names); stop its server and copy again")
}

func TestVersionNamesAllThree(t *testing.T) {
	t.Parallel()
	require.Regexp(t, `^dewclaw \S.*, engine \S+ \d+\.\d+\.\d+, schema \d+, go1\.\S+ \w+/\w+\n$`, says(t, 0, "version"))
}

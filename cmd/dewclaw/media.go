package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"dewclaw/cases"
)

// mediaBeside is the library with the folder of media that belongs to a case
// file: beside the folder cases where the file lies in one, else beside the file.
func mediaBeside(l *cases.Library, name string) *cases.Library {
	dir := filepath.Dir(name)
	if full, err := filepath.Abs(dir); err == nil && filepath.Base(full) == "cases" {
		dir = filepath.Dir(full)
	}
	return l.WithMedia(os.DirFS(dir))
}

// mediaLines say which media a sound case uses and by whose leave; none where
// the file is no sound case.
func mediaLines(l *cases.Library, name string, data []byte) []string {
	c, problems := l.ParseCase(name, data)
	if c == nil || len(problems) > 0 {
		return nil
	}
	var out []string
	for i := range c.Media {
		out = append(out, name+": "+mediumLine(&c.Media[i]))
	}
	return out
}

func mediumLine(m *cases.Medium) string {
	counted := ""
	if m.Rate > 0 {
		counted = fmt.Sprintf(", %d a minute", m.Rate)
	}
	return fmt.Sprintf("%s: %s %s%s; consent: %s; licence: %s", m.Key(), m.Sense(), m.File, counted, m.Consent, m.Licence)
}

// checkFolder checks a school's folder of cases, catalogues and media as the
// server would load it. It returns the problems, what media the sound cases use,
// and how many files were looked at.
func checkFolder(dir string) (problems []cases.Problem, uses []string, checked int, err error) {
	for _, pattern := range []string{"cases/*.y*ml", "catalogue/*.y*ml", "media/*"} {
		names, _ := filepath.Glob(filepath.Join(dir, pattern)) // the pattern is sound
		checked += len(names)
	}
	if checked == 0 {
		return nil, nil, 0, fmt.Errorf("%s is a folder without cases/, catalogue/ or media/; name a file, or the folder of a school's library", dir)
	}
	l, err := cases.Load(cases.BuiltinFiles(), os.DirFS(dir))
	var broken cases.ProblemsError
	if errors.As(err, &broken) {
		return under(dir, broken), nil, checked, nil
	}
	if err != nil {
		return nil, nil, 0, err
	}
	for _, b := range l.Broken() {
		problems = append(problems, under(dir, b.Problems)...)
	}
	for _, c := range l.Cases() {
		for i := range c.Media {
			uses = append(uses, c.ID+": "+mediumLine(&c.Media[i]))
		}
	}
	return problems, uses, checked, nil
}

// under puts the folder before the names of its files.
func under(dir string, problems []cases.Problem) []cases.Problem {
	out := make([]cases.Problem, len(problems))
	for i, p := range problems {
		if name := filepath.Join(dir, filepath.FromSlash(p.File)); exists(name) && !strings.HasPrefix(p.File, "/") {
			p.File = name
		}
		out[i] = p
	}
	return out
}

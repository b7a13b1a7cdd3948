package cases

import (
	"strings"

	"dewclaw/rubric"
)

// sureSigns are what may stand behind a typed entry to say how sure one is of it:
// HR 24x4! is sure, MM pink ~ is fairly sure, CRT 1.5? is a guess.
var sureSigns = map[byte]string{'?': rubric.Guess, '~': rubric.Fairly, '!': rubric.Sure}

// readSure reads a part of a typed line with such a sign. Behind anything but
// entries of a value that was found it is punctuation and says nothing: a
// question may end as questions do.
func (c *Catalogue) readSure(text string, unplaced bool) ([]rubric.Act, error) {
	acts, err := c.readPart(text, unplaced)
	sure := sureSigns[text[len(text)-1]]
	if err != nil || sure == "" || strings.TrimRight(text, "?~! ") == "" {
		return acts, err
	}
	for _, a := range acts {
		if a.Kind != rubric.Record || a.Field == "" || a.Value == "" || a.Value == rubric.NotExamined {
			return acts, nil
		}
	}
	for i := range acts {
		acts[i].Sure = sure
	}
	return acts, nil
}

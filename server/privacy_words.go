package server

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"dewclaw/rubric"
	"dewclaw/server/store"
)

// blank takes the words that a person typed out of acts and reports, so that a
// grade made of them is the same: where the engine looks whether there are
// words, a mark of the same kind stands in their place.
var blank = store.Blank{Act: withoutWords, Report: reportWithout}

// withoutWords gives an act without its person's own words, and those.
func withoutWords(visit store.Attempt, raw []byte) ([]byte, []string, error) {
	var a rubric.Act
	if err := json.Unmarshal(raw, &a); err != nil {
		return nil, nil, fmt.Errorf("stored act: %w", err)
	}
	words := takeWords(&a, func(g rubric.Given) bool { return readable(visit, g) })
	if len(words) == 0 {
		return raw, nil, nil
	}
	out, err := json.Marshal(a)
	if err != nil {
		return nil, nil, fmt.Errorf("stored act: %w", err)
	}
	return out, words, nil
}

// takeWords puts a mark in place of every free text of an act: the reason beside
// a gap or an early conclusion, the parts of a report to the veterinarian, and a
// reported value that is none of the field's. All else is a choice, a number or
// an id. A text without words stays, for it counts as none.
func takeWords(a *rubric.Act, readable func(rubric.Given) bool) (words []string) {
	take := func(text *string) {
		if strings.TrimSpace(*text) != "" && *text != store.Erased {
			words = append(words, *text)
			*text = store.Erased
		}
	}
	take(&a.Reason)
	if h := a.Report; h != nil {
		for _, part := range []*string{&h.Situation, &h.Background, &h.Assessment, &h.Request} {
			take(part)
		}
		for i := range h.Fields {
			if !readable(h.Fields[i]) {
				take(&h.Fields[i].Value)
			}
		}
	}
	return words
}

// readable reports whether a reported value is one of the field's: a choice or a
// quantity, and no text of the person's own.
func readable(visit store.Attempt, g rubric.Given) bool {
	key, err := rubric.DecodeKey(visit.Key)
	if err != nil {
		return false
	}
	i := slices.IndexFunc(key.Fields, func(f rubric.Field) bool { return f.ID == g.Field })
	if i < 0 {
		return false
	}
	_, err = key.Fields[i].Read(g.Value)
	return err == nil
}

// reportWithout takes words out of the reasons of a stored report, where the
// engine cites them: whole, or the beginning of long ones.
func reportWithout(raw []byte, words []string) ([]byte, error) {
	rep, err := rubric.DecodeReport(raw)
	if err != nil {
		return nil, err
	}
	for d := range rep.Domains {
		for l := range rep.Domains[d].Lines {
			args := rep.Domains[d].Lines[l].Args
			for i := range args {
				if (args[i].Name == "gap" || args[i].Name == "given") && slices.ContainsFunc(words, func(w string) bool { return cites(args[i].Value, w) }) {
					args[i].Value = store.Erased
				}
			}
		}
	}
	return rubric.EncodeReport(rep)
}

// cites reports whether an argument is a text or its beginning.
func cites(arg, text string) bool {
	cut, long := strings.CutSuffix(arg, "...")
	return arg == text || long && strings.HasPrefix(text, cut)
}

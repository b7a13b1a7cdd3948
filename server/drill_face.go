package server

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"

	"dewclaw/cases/drill"
	"dewclaw/rubric"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// faceDrill is a drill as its student sees it: nothing of an item that waits but
// what it asks.
func (s *Server) faceDrill(r *drillRun, session string) face.Drill {
	f := face.Drill{ID: r.row.ID, Kind: r.kind.ID, Label: r.kind.Label, Species: r.row.Species, Started: r.row.Started, Ended: timeOrNone(r.row.Ended),
		Here: r.row.Holder == s.holder(session), Of: r.kind.Items, Marked: r.count(store.ItemMarked), Void: r.count(store.ItemVoid), Items: []face.DrillItem{}}
	for i := range r.items {
		it := s.faceItem(r, &r.items[i])
		if it.Told != nil && it.Told.Right {
			f.Right++
		}
		f.Items = append(f.Items, it)
	}
	return f
}

func (s *Server) faceItem(r *drillRun, row *store.DrillItem) face.DrillItem {
	out := face.DrillItem{N: row.N, State: row.State, Why: row.Why}
	if s.left(row) {
		out.State, out.Why = store.ItemVoid, voidLeft
	}
	if out.State == store.ItemMarked {
		told := toldOf(*row)
		out.Told = &told
	}
	if out.State == store.ItemVoid || row.N != r.last().N {
		return out
	}
	it, err := drill.Decode(s.library, row.Item)
	if err != nil { // the library has changed: what was told is still told
		s.log.Error("an item of a drill cannot be read", "kind", row.Kind, "cause", err.Error())
		if out.Told == nil {
			out.State, out.Why = store.ItemVoid, voidStalled
		}
		return out
	}
	out.Ask = faceAsk(it, r.row.Alternatives.Described)
	return out
}

// faceAsk is what an item asks. The words of a sound are for whom they were granted.
func faceAsk(it drill.Item, described bool) *face.DrillAsk {
	ask := it.Face()
	out := &face.DrillAsk{Words: ask.Words, Signalment: ask.Signalment, Place: joinSet([]string{ask.Step, ask.Site}, ", "), Sense: ask.Senses, Clips: []face.DrillClip{},
		Unit: strings.ReplaceAll(ask.Unit, "degC", "°C"), Range: ask.Range, Count: ask.Count && len(ask.Choices) == 0, Seconds: ask.Seconds}
	for _, c := range ask.Choices {
		out.Choices = append(out.Choices, face.Choice{ID: c.ID, Label: c.Label})
	}
	for i, c := range ask.Clips {
		clip := face.DrillClip{Which: i}
		if len(ask.Clips) > 1 {
			clip.Label = upperFirst(c.Label)
		}
		if ask.Senses != "sound" || described {
			clip.Words = it.Words(i)
		}
		out.Clips = append(out.Clips, clip)
	}
	return out
}

// toldOf is what was told of an item; nothing before.
func toldOf(row store.DrillItem) (told face.ItemTold) {
	if len(row.Told) > 0 {
		_ = json.Unmarshal(row.Told, &told) // written by us
	}
	return told
}

// saidItem is an answer in words.
func saidItem(ask drill.Ask, a drill.Answer) string {
	for _, c := range ask.Choices {
		if c.ID == a.Value {
			return c.Label
		}
	}
	unit := strings.ReplaceAll(ask.Unit, "degC", "°C")
	said := joinUnit(a.Value, unit)
	if a.Over != "" {
		said += ", counted over " + a.Over + " s"
	}
	if ask.Range {
		said += ", and the range " + joinUnit(a.Low+" to "+a.High, unit)
	}
	return said
}

func joinUnit(value, unit string) string { return strings.TrimSpace(value + " " + unit) }

// actLines are the acts of an item as JSON Lines, without outcomes.
func actLines(acts []rubric.Act) ([]byte, error) {
	var t rubric.Transcript
	for _, a := range acts {
		t = append(t, rubric.Entry{Act: a})
	}
	var b bytes.Buffer
	err := rubric.WriteActs(&b, t)
	return b.Bytes(), err
}

// badAnswer says what is wrong in an answer and what would be right.
func badAnswer(err error) error {
	var m *rubric.MemberError
	if errors.As(err, &m) {
		return invalid("/"+m.Member, m.Problem+"; write "+m.Right+".")
	}
	return invalid("/value", err.Error())
}

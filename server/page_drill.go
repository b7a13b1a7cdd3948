package server

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"dewclaw/cases/drill"
	"dewclaw/server/face"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// drillPage is one item of a drill, or what came of a drill: one thing at a time.
type drillPage struct {
	Base
	ID, Label string
	Item      int // number of the item that the page shows
	N, Of     int // which of how many are marked
	Elsewhere bool
	Asked     bool
	Void      string // why the item never counts
	Ask       *face.DrillAsk
	Told      *face.ItemTold
	Clips     []drillClip
	Choices   []drillChoice
	Brief     bool          // they are short enough to stand two by two
	Scale     bool          // they are figures
	Counts    []drillChoice // over how many seconds
	Sures     []drillChoice
	Traced    bool
	Timed     bool // it is listened to or counted, so that to be away breaks it
	Last      bool // what follows is the end
	Form      drillForm
	Wrong     string
	End       *drillEnd
}

// drillForm is what the page sends, as it was typed.
type drillForm struct{ Value, Count, Over, Low, High, Sure string }

// drillClip is a sound, a picture or words, with its address.
type drillClip struct {
	Label, Key, Src, Words string
	Actual                 bool // the answer was here, once it is told
}

// drillChoice is a button or a radio button, with the key that presses it.
type drillChoice struct {
	ID, Label, Key string
	Chosen         bool
}

// drillEnd is what came of a drill.
type drillEnd struct {
	Says []string
	Rows []drillRow
	Kind string
	Of   string // species
}

type drillRow struct {
	N                   int
	Asked, Said, Actual string
	Right               bool
}

// counts are over how many seconds one counts, beside the time that an item gives.
var counts = []int{15, 30, 60}

// countChoices are the seconds to count over, the item's own chosen.
func countChoices(own int) (out []drillChoice) {
	all := append([]int{own}, counts...)
	slices.Sort(all)
	for _, n := range slices.Compact(all) {
		if n > 0 && 60%n == 0 {
			out = append(out, drillChoice{ID: strconv.Itoa(n), Label: strconv.Itoa(n), Chosen: n == own})
		}
	}
	return out
}

func (s *Server) showDrill(c *gin.Context) error {
	p, err := s.drillPage(c)
	if err != nil {
		return err
	}
	return s.page(c, "drill", p)
}

func (s *Server) drillPage(c *gin.Context) (*drillPage, error) {
	v := who(c)
	r, err := s.drillRun(c.Request.Context(), v.person, c.Param("id"))
	if err != nil {
		return nil, err
	}
	f := s.faceDrill(r, v.session)
	p := drillPageOf(f, r.full())
	p.Traced = r.row.Alternatives.Traced
	return p, nil
}

// drillPageOf is the page of a drill as it stands; full: no item follows.
func drillPageOf(f face.Drill, full bool) *drillPage {
	p := &drillPage{Base: Base{Title: f.Label}, ID: f.ID, Label: f.Label, N: min(f.Marked+1, f.Of), Of: f.Of, Last: full}
	it := f.Items[len(f.Items)-1]
	p.Item = it.N
	switch {
	case f.Ended != nil:
		p.End = drillEndOf(f)
		return p
	case !f.Here:
		p.Elsewhere = true
		return p
	case it.State == store.ItemVoid:
		p.Void = voidWords[it.Why]
	}
	if it.State == store.ItemMarked {
		p.N = f.Marked
	}
	p.Asked, p.Ask, p.Told = it.State == store.ItemAsked, it.Ask, it.Told
	if p.Ask != nil {
		p.offer()
	}
	return p
}

// How long a choice is, in characters, that stands beside another, or in a scale.
const (
	briefMost = 26
	scaleMost = 2
)

// offer lays out what an item gives and what it takes.
func (p *drillPage) offer() {
	for i, x := range p.Ask.Clips {
		row := drillClip{Label: x.Label, Key: string(rune('a' + i)), Words: x.Words, Actual: p.Told != nil && x.Label != "" && x.Label == p.Told.Actual}
		if p.Ask.Sense != "words" {
			row.Src = fmt.Sprintf("/drills/%s/items/%d/%s?which=%d", p.ID, p.Item, p.Ask.Sense, x.Which)
		}
		p.Clips = append(p.Clips, row)
	}
	p.Timed = p.Ask.Sense == "sound" || p.Ask.Count
	longest := 0
	for _, c := range p.Ask.Choices {
		longest = max(longest, utf8.RuneCountInString(c.Label))
	}
	p.Brief, p.Scale = len(p.Ask.Choices) > 3 && longest <= briefMost, longest <= scaleMost
	for i, c := range p.Ask.Choices {
		key := ""
		if i < 9 {
			key = strconv.Itoa(i + 1)
		}
		p.Choices = append(p.Choices, drillChoice{ID: c.ID, Label: c.Label, Key: key})
	}
	if p.Ask.Count {
		p.Counts = countChoices(p.Ask.Seconds)
	}
	p.Sures = []drillChoice{{ID: "guess", Label: "A guess", Key: "g"}, {ID: "fairly", Label: "Fairly sure", Key: "f"}, {ID: "sure", Label: "Sure", Key: "s"}}
}

// voidWords say why an item does not count.
var voidWords = map[string]string{
	voidLeft:    "You left this one before you answered.",
	voidSlept:   "The page was away for more than ten seconds while you listened.",
	voidStalled: "The sound or picture did not come, or stopped.",
}

// drillEndOf says in plain sentences what came of a drill.
func drillEndOf(f face.Drill) *drillEnd {
	e := &drillEnd{Kind: f.Kind, Of: f.Species}
	switch {
	case f.Marked == 0:
		e.Says = append(e.Says, "Nothing was answered, so there is nothing to say yet.")
	case f.Right == f.Marked:
		e.Says = append(e.Says, fmt.Sprintf("You had all %d right.", f.Marked))
	default:
		e.Says = append(e.Says, fmt.Sprintf("You had %d of %d right.", f.Right, f.Marked))
	}
	if f.Void > 0 {
		e.Says = append(e.Says, fmt.Sprintf("%s not count, neither right nor wrong: left unanswered, or the sound broke off.", countIs(f.Void, "item does", "items do")))
	}
	for _, it := range f.Items {
		if it.Told != nil {
			e.Rows = append(e.Rows, drillRow{it.N, it.Told.Asked, it.Told.Said, it.Told.Actual, it.Told.Right})
		}
	}
	return e
}

// doAnswerItem takes the answer of a form.
func (s *Server) doAnswerItem(c *gin.Context) error {
	f := drillForm{Value: strings.TrimSpace(c.PostForm("value")), Count: strings.TrimSpace(c.PostForm("count")), Over: c.PostForm("over"),
		Low: strings.TrimSpace(c.PostForm("low")), High: strings.TrimSpace(c.PostForm("high")), Sure: c.PostForm("sure")}
	a, err := f.answer()
	if err == nil {
		err = s.answerItem(c.Request.Context(), who(c), c.Param("id"), itemOf(c), a)
	}
	row, _ := tell(err)
	if err != nil && row.status == http.StatusUnprocessableEntity && !errors.Is(err, ErrRetry) {
		return s.drillAgain(c, err, f)
	}
	return s.backToDrill(c, err)
}

// answer reads a form: what is counted over a part of a minute is reckoned to a minute.
func (f drillForm) answer() (answered, error) {
	a := answered{drill.Answer{Value: f.Value, Low: f.Low, High: f.High}, f.Sure}
	if f.Over == "" {
		return a, nil
	}
	n, err := strconv.Atoi(f.Count)
	if err != nil || n < 0 || n > 999 {
		return a, invalid("/count", "Write how many you counted, as a whole number from 0 to 999.")
	}
	over, err := strconv.Atoi(f.Over)
	if err != nil || over < 1 || 60%over != 0 {
		return a, invalid("/over", "Say over how many seconds you counted: 10, 15, 30 or 60.")
	}
	a.Value, a.Over = strconv.Itoa(n*60/over), f.Over
	return a, nil
}

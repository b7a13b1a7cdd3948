package server

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"dewclaw/cases/senses"
	"dewclaw/server/store"

	"github.com/gin-gonic/gin"
)

// soundCheckPage asks what a pair of headphones carries, and says what came of
// the last answer.
type soundCheckPage struct {
	Base
	Token       string
	Least, Most int // how many beats there can be
	Passed      string
	Given       string // how sounds are given to this person besides
	Result      *checkResult
	Wrong       string // what has to be mended in the answer
	Beats, Deep string // as answered
}

// checkResult is an answer that was judged: in short, and what to do.
type checkResult struct {
	Passed bool
	Short  string
	Lines  []string
}

func (s *Server) showSoundCheck(c *gin.Context) error {
	p, err := s.soundCheckPage(c)
	if err != nil {
		return err
	}
	return s.page(c, "soundcheck", p)
}

// soundCheckPage is a new check for the person who asks.
func (s *Server) soundCheckPage(c *gin.Context) (*soundCheckPage, error) {
	who := person(c)
	row, err := s.store.Person(c.Request.Context(), who.ID)
	if err != nil {
		return nil, fmt.Errorf("sound check: %w", err)
	}
	p := &soundCheckPage{Base: Base{Title: "Sound check"}, Token: s.askCheck(who).token, Least: senses.LeastBeats, Most: senses.MostBeats}
	p.Passed, p.Given = s.day(row.CheckPassed), soundWays(row.Alternatives)
	return p, nil
}

// soundCheckClip serves a clip of a check to the person it was made for.
func (s *Server) soundCheckClip(c *gin.Context) error {
	check, err := s.checkOf(person(c), c.Param("token"))
	if err != nil {
		return &Fault{Kind: ErrMissing, Cause: err}
	}
	m, err := s.checkClip(c.Request.Context(), check, c.Param("clip"))
	if err != nil {
		return err
	}
	return s.serveClip(c, m)
}

// checkForm is what the page sends.
type checkForm struct{ Token, Beats, Deep string }

func (s *Server) doSoundCheck(c *gin.Context) error {
	f := checkForm{c.PostForm("token"), strings.TrimSpace(c.PostForm("beats")), c.PostForm("deep")}
	ctx, who := c.Request.Context(), person(c)
	p, err := s.soundCheckPage(c)
	if err != nil {
		return err
	}
	check, err := s.checkOf(who, f.Token)
	if err != nil {
		p.Wrong = "That check is over half an hour old, or was not made for you. Here is a new one: listen again, then answer."
		return s.write(c, http.StatusUnprocessableEntity, "soundcheck", p)
	}
	beats, wrong := readCheck(f)
	if wrong != "" { // not answered yet: the same clips go on
		p.Token, p.Wrong, p.Beats, p.Deep = f.Token, wrong, f.Beats, f.Deep
		return s.write(c, http.StatusUnprocessableEntity, "soundcheck", p)
	}
	h, err := s.answerCheck(ctx, who, check, beats, f.Deep)
	if errors.Is(err, store.ErrUsed) {
		p.Wrong = "That check was answered already. Here is a new one: listen again, then answer."
		return s.write(c, http.StatusConflict, "soundcheck", p)
	}
	if err != nil {
		return err
	}
	if h.Passed {
		p.Passed = s.day(s.now())
	}
	p.Result = resultOf(h)
	return s.page(c, "soundcheck", p)
}

// mostCounted is more than anybody counts in a clip.
const mostCounted = 99

// readCheck reads an answer; wrong says what has to be mended.
func readCheck(f checkForm) (beats int, wrong string) {
	beats, err := strconv.Atoi(f.Beats)
	if err != nil || beats < 0 || beats > mostCounted {
		return 0, fmt.Sprintf("Write how many beats you counted, as a number from 0 to %d.", mostCounted)
	}
	switch f.Deep {
	case clipFirst, clipSecond, checkAlike:
		return beats, ""
	}
	return 0, "Say which of the two hums is the deep one, or that both sound alike."
}

// resultOf says in plain words what came of a check and what to do.
func resultOf(h heard) *checkResult {
	r := &checkResult{Passed: h.Passed, Short: "✕ Not passed this time.", Lines: []string{beatsText(h), humText(h)}}
	if h.Passed {
		r.Short = "✓ Passed: these carry what an examination needs."
	}
	return r
}

func beatsText(h heard) string {
	switch off := h.Beats - h.Asked; {
	case off == 0:
		return fmt.Sprintf("You counted all %d beats.", h.Asked)
	case off == 1 || off == -1:
		return fmt.Sprintf("There were %d beats and you counted %d: one was missed or counted twice. You hear them; count once more, in a quiet place.", h.Asked, h.Beats)
	}
	return fmt.Sprintf("There were %d beats and you counted %d. Turn the sound up, choose the right device in your system, and count once more in a quiet place.", h.Asked, h.Beats)
}

func humText(h heard) string {
	const advice = " Most of a heart sound lies about as deep. Try other headphones, best closed ones around the ear; the loudspeaker of a telephone or laptop rarely carries it. Where none does, or you do not hear so deep, ask an instructor for sounds as a trace or in words."
	switch {
	case h.DeepRight:
		return "You told the deep hum, of 80 Hz, from the other."
	case h.Unsure:
		return "Both hums sounded alike to you, so 80 Hz does not come through." + advice
	}
	return "The deep hum, of 80 Hz, was the other one, so it does not come through." + advice
}

func exampleSoundCheck() *soundCheckPage {
	return &soundCheckPage{
		Base: Base{Title: "Sound check", Person: examplePerson("student")}, Token: "TOKEN", Least: senses.LeastBeats, Most: senses.MostBeats, Passed: "25 Nov 2026, 09:30",
		Given: soundWays(store.Alternatives{Traced: true}), Result: resultOf(heard{Beats: 11, Asked: 12}), Wrong: "Write how many beats you counted.", Beats: "11", Deep: checkAlike,
	}
}

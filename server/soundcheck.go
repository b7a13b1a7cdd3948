package server

import (
	"context"
	"crypto/rand"
	"encoding/base32"
	"encoding/binary"
	"errors"
	"fmt"
	"time"

	"dewclaw/cases/senses"
	"dewclaw/server/face"
	"dewclaw/server/store"
)

// checkFor is how long a sound check can be answered.
const checkFor = 30 * time.Minute

// soundCheck is one asking: what was drawn for it is made anew from its token
// by whoever holds the school's secret, so that nothing is stored and nothing
// that leaves the server tells it.
type soundCheck struct {
	token string
	asked time.Time
	beats int
	deep  string // first or second
	draw  []byte // the rest of the draw: phases of the clips
}

// A token is the moment in microseconds, some random bytes, and a MAC over both
// and over whose it is.
const (
	checkMoment = 8
	checkNonce  = 8
	checkMAC    = 16
)

// The clips of a check, as they stand in a path.
const (
	clipBeats  = "beats"
	clipFirst  = "first"
	clipSecond = "second"
)

// Why a token is not taken.
var (
	errCheckBad = errors.New("no token of a sound check of this person")
	errCheckOld = errors.New("a token that is too old")
)

// askCheck draws a new check for a person.
func (s *Server) askCheck(who face.Person) soundCheck {
	body := binary.BigEndian.AppendUint64(nil, uint64(s.store.Now().UnixMicro()))
	nonce := make([]byte, checkNonce)
	_, _ = rand.Read(nonce) // it never fails
	body = append(body, nonce...)
	token := checkText.EncodeToString(append(body, s.mac("sound check", who.ID+"/"+string(body))[:checkMAC]...))
	return s.drawn(who, token, body)
}

var checkText = base32.StdEncoding.WithPadding(base32.NoPadding)

// checkOf reads a token that was given to this person.
func (s *Server) checkOf(who face.Person, token string) (soundCheck, error) {
	raw, err := checkText.DecodeString(token)
	if err != nil || len(raw) != checkMoment+checkNonce+checkMAC || checkText.EncodeToString(raw) != token {
		return soundCheck{}, errCheckBad
	}
	body, mac := raw[:checkMoment+checkNonce], raw[checkMoment+checkNonce:]
	if !same(string(mac), string(s.mac("sound check", who.ID+"/"+string(body))[:checkMAC])) {
		return soundCheck{}, errCheckBad
	}
	c := s.drawn(who, token, body)
	if age := s.now().Sub(c.asked); age > checkFor || age < -time.Minute {
		return soundCheck{}, errCheckOld
	}
	return c, nil
}

// drawn makes what was drawn for a token.
func (s *Server) drawn(who face.Person, token string, body []byte) soundCheck {
	draw := s.mac("sound check draw", who.ID+"/"+string(body))
	c := soundCheck{token: token, asked: time.UnixMicro(int64(binary.BigEndian.Uint64(body))).UTC(), deep: clipFirst, draw: draw[16:]}
	span := uint64(senses.MostBeats - senses.LeastBeats + 1)
	c.beats = senses.LeastBeats + int(binary.BigEndian.Uint64(draw)%span)
	if draw[8]&1 == 1 {
		c.deep = clipSecond
	}
	return c
}

// checkClip renders one of the clips of a check.
func (s *Server) checkClip(ctx context.Context, c soundCheck, name string) (clip, error) {
	var render func() (clip, error)
	switch phase := binary.BigEndian.Uint64(c.draw); name {
	case clipBeats:
		render = func() (clip, error) { return clip{mediaWAV, senses.CheckBeats(c.beats, phase)}, nil }
	case clipFirst, clipSecond:
		render = func() (clip, error) { return clip{mediaWAV, senses.CheckHum(name == c.deep, phase)}, nil }
	default:
		return clip{}, ErrMissing
	}
	return s.media.get(ctx, clipKey{of: "check/" + c.token, what: name}, render)
}

// heard is how a check was answered.
type heard struct {
	Passed       bool
	Beats, Asked int  // counted, and how many there were
	DeepRight    bool // the deep hum was told from the other
	Unsure       bool // the student says that both sound alike
}

// answerCheck judges a check, once, and keeps when it was passed.
func (s *Server) answerCheck(ctx context.Context, who face.Person, c soundCheck, beats int, deep string) (heard, error) {
	h := heard{Beats: beats, Asked: c.beats, DeepRight: deep == c.deep, Unsure: deep == checkAlike}
	h.Passed = h.Beats == h.Asked && h.DeepRight
	err := s.store.AnswerSoundCheck(ctx, who.ID, c.asked, h.Passed)
	if err != nil && !errors.Is(err, store.ErrUsed) {
		return heard{}, fmt.Errorf("sound check: %w", err)
	}
	return h, err
}

// checkAlike is the answer of who hears no difference.
const checkAlike = "alike"

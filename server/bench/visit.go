package bench

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strconv"

	"dewclaw/rubric"
)

// Post is one act as a client posts it: everything but its number and retry.
type Post struct {
	Kind  rubric.Kind
	Heard bool // an act that examines, so that something may be heard or seen at it
	act   []byte
}

// Posts turns the acts of a robot's visit into what a client posts: a client says
// nothing of how long a contact lasts, and lifts the hand where the robot holds it
// for some seconds. What would end the visit is left out.
func Posts(acts []rubric.Act) ([]Post, error) {
	var out []Post
	number := map[int]int{} // of the robot's act and of ours
	for _, a := range acts {
		if a.Kind == rubric.Conclude {
			continue
		}
		held := a.Kind == rubric.Examine && a.Seconds > 0
		n := len(out) + 1
		number[a.N] = n
		a.N, a.Held, a.Of = 0, 0, number[a.Of]
		if a.Kind == rubric.Examine {
			a.Seconds = 0
		}
		one, err := post(a)
		if err != nil {
			return nil, err
		}
		out = append(out, one)
		if !held {
			continue
		}
		if one, err = post(rubric.Act{Kind: rubric.Lift, Of: n}); err != nil {
			return nil, err
		}
		out = append(out, one)
	}
	return out, nil
}

// post is an act without its number.
func post(a rubric.Act) (Post, error) {
	all, err := json.Marshal(a)
	if err != nil {
		return Post{}, fmt.Errorf("post: %w", err)
	}
	return Post{Kind: a.Kind, Heard: a.Kind == rubric.Examine, act: all}, nil
}

// Body writes the n-th act of a visit into buf, as POST .../acts takes it. The
// same n and retry give the same bytes.
func (p Post) Body(buf []byte, n int, retry string) []byte {
	buf = append(buf[:0], `{"after":`...)
	buf = strconv.AppendInt(buf, int64(n-1), 10)
	buf = append(buf, `,"retry":"`...)
	buf = append(buf, retry...)
	buf = append(buf, `","act":`...)
	// The engine writes its number first, always; the client's act has none.
	buf = append(buf, '{')
	buf = append(buf, p.act[len(`{"n":0,`):]...)
	return append(buf, '}')
}

// Same reports whether a stored act, as the server shows it, is this one at the
// number n: everything that the client said stands in it.
func (p Post) Same(stored []byte, n int) (bool, error) {
	var said, there map[string]any
	if err := json.Unmarshal(p.act, &said); err != nil {
		return false, fmt.Errorf("post: %w", err)
	}
	if err := json.Unmarshal(stored, &there); err != nil {
		return false, fmt.Errorf("a stored act: %w", err)
	}
	said["n"] = float64(n)
	for name, value := range said {
		if !reflect.DeepEqual(there[name], value) {
			return false, nil
		}
	}
	return true, nil
}

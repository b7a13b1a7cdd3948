package server

import (
	"bytes"
	"errors"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestLongBodyWithoutLength: a body that does not say how long it is, is cut off all the same.
func TestLongBodyWithoutLength(t *testing.T) {
	sc := planted(t)
	v := sc.as("student").begin(sc.plantedID())
	r := httptest.NewRequest(http.MethodPost, v.path("/acts"), io.LimitReader(endless{}, 10<<20))
	r.ContentLength = -1
	r.Header.Set("Content-Type", "application/json")
	r.Header.Set("Authorization", "Bearer "+v.token)
	w := httptest.NewRecorder()
	sc.s.Handler().ServeHTTP(w, r)
	(&reply{t, w.Code, w.Header(), w.Body.Bytes()}).problem(http.StatusRequestEntityTooLarge, "too-large")
}

// endless reads as spaces.
type endless struct{}

func (endless) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = ' '
	}
	return len(p), nil
}

// FuzzDecode states two laws: whatever the bytes, decoding ends in a value or in
// a fault that can be told; and what was taken is taken again once written.
func FuzzDecode(f *testing.F) {
	for _, seed := range []string{
		`{"after":0,"retry":"retry-000001","act":{"kind":"hint"}}`,
		`{"after":1,"retry":"retry-000002","act":{"kind":"conclude","problems":["x"],"urgency":"routine","report":{"fields":[{"field":"a","value":"b"}]}}}`,
		`{"after":0,"after":0}`, `{"a`, "[[[[[[[[[[[[", "{}{}", "\xff", "", "null", `{"act":{"step":"\ud800"}}`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, body []byte) {
		var first, second actForm
		if err := decodeBytes(body, &first); err != nil {
			var fault *Fault
			require.True(t, errors.As(err, &fault), "%v", err)
			require.ErrorIs(t, err, ErrForm)
			return
		}
		again := rawBody(t, first)
		require.NoError(t, decodeBytes(again, &second))
		require.True(t, bytes.Equal(again, rawBody(t, second)))
	})
}

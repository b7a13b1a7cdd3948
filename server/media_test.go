package server

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/http/httptest"
	"slices"
	"sync"
	"testing"
	"time"

	"dewclaw/cases"
	"dewclaw/rubric"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
	"github.com/stretchr/testify/require"
)

// Every step with a stethoscope can be heard, beside its words; a look cannot.
func TestWhatAStethoscopeHears(t *testing.T) {
	sc := newSchool(t)
	for _, row := range []struct {
		patient, step, site string
		heard               bool
	}{
		{"tansy", "heart.auscultate", "left apex", true}, {"tansy", "lungs.auscultate", "left cranial", true},
		{"tansy", "abdomen.auscultate", "", true}, {"tansy", "throat.auscultate", "", true},
		{"buttercup", "rumen.auscultate", "", true}, {"quaker", "abdomen.auscultate", "right upper", true},
		{"tansy", "distance.observe", "", false}, {"tansy", "neck.inspect", "left", false},
	} {
		v := sc.browser("student").begin(sc.s.opaque(row.patient))
		got := v.do(sentAct{Kind: "examine", Step: row.step, Site: row.site})
		require.Equal(t, row.heard, got.Act.Heard, row.step)
		want := http.StatusNotFound
		if row.heard {
			want = http.StatusOK
		}
		v.get(v.path("/acts/1/sound")).is(want)
	}
}

// asked is a request to a server that really runs.
func (v *visit) asked(base, method, path string, header map[string]string) (*http.Response, []byte) {
	r, err := http.NewRequestWithContext(v.sc.t.Context(), method, base+path, nil)
	require.NoError(v.sc.t, err)
	r.Header.Set("Authorization", "Bearer "+v.token)
	for k, value := range header {
		r.Header.Set(k, value)
	}
	got, err := http.DefaultTransport.RoundTrip(r)
	require.NoError(v.sc.t, err)
	body, err := io.ReadAll(got.Body)
	require.NoError(v.sc.t, err)
	require.NoError(v.sc.t, got.Body.Close())
	return got, body
}

// heardOnce is a visit with one act that is heard, then one that is only watched.
func (sc *school) heardOnce(login string) *visit {
	v := sc.as(login).begin(sc.s.opaque("tansy"))
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	v.do(sentAct{Kind: "examine", Step: "breathing.count"})
	v.do(sentAct{Kind: "record", Field: "heart.rate", Value: "100", Over: 15, Interpretation: "normal"})
	return v
}

// Ranges are those of RFC 9110, section 14; If-Range without a validator that
// fits is ignored with the range (13.1.5).
func TestMediaOverHTTP(t *testing.T) {
	sc := newSchool(t)
	live := httptest.NewServer(sc.s.Handler())
	defer live.Close()
	v := sc.heardOnce("student")
	sound := v.path("/acts/1/sound")
	_, whole := v.asked(live.URL, "GET", sound, nil)
	size := len(whole)
	for name, row := range map[string]struct {
		method, path string
		header       map[string]string
		code         int
		body         []byte
	}{
		"whole":                {"GET", sound, nil, 200, whole},
		"head":                 {"HEAD", sound, nil, 200, nil},
		"first bytes":          {"GET", sound, map[string]string{"Range": "bytes=0-43"}, 206, whole[:44]},
		"middle":               {"GET", sound, map[string]string{"Range": "bytes=1000-1999"}, 206, whole[1000:2000]},
		"last bytes":           {"GET", sound, map[string]string{"Range": "bytes=-10"}, 206, whole[size-10:]},
		"open end":             {"GET", sound, map[string]string{"Range": fmt.Sprintf("bytes=%d-", size-5)}, 206, whole[size-5:]},
		"reaches over the end": {"GET", sound, map[string]string{"Range": fmt.Sprintf("bytes=%d-%d", size-5, size+99)}, 206, whole[size-5:]},
		"beyond the end":       {"GET", sound, map[string]string{"Range": fmt.Sprintf("bytes=%d-", size)}, 416, nil},
		"head beyond the end":  {"HEAD", sound, map[string]string{"Range": fmt.Sprintf("bytes=%d-", size)}, 416, nil},
		"nonsense":             {"GET", sound, map[string]string{"Range": "bytes=9-1"}, 416, nil},
		"if-range, a tag":      {"GET", sound, map[string]string{"Range": "bytes=0-9", "If-Range": `"made-up"`}, 200, whole},
		"if-range, a time":     {"GET", sound, map[string]string{"Range": "bytes=0-9", "If-Range": "Wed, 25 Nov 2026 09:00:00 GMT"}, 200, whole},
		"if-none-match":        {"GET", sound, map[string]string{"If-None-Match": `"made-up"`}, 200, whole},
		"head of a range":      {"HEAD", sound, map[string]string{"Range": "bytes=0-9"}, 206, nil},
		"an act without sound": {"GET", v.path("/acts/2/sound"), nil, 404, nil},
		"no examination":       {"GET", v.path("/acts/3/sound"), nil, 404, nil},
		"no picture":           {"GET", v.path("/acts/3/picture"), nil, 404, nil},
		"number 0":             {"GET", v.path("/acts/0/sound"), nil, 404, nil},
		"below 0":              {"GET", v.path("/acts/-1/sound"), nil, 404, nil},
		"beyond the last act":  {"GET", v.path("/acts/4/sound"), nil, 404, nil},
		"far beyond":           {"GET", v.path("/acts/99999999999999999999/sound"), nil, 404, nil},
		"head of nothing":      {"HEAD", v.path("/acts/2/sound"), nil, 404, nil},
	} {
		got, body := v.asked(live.URL, row.method, row.path, row.header)
		require.Equal(t, row.code, got.StatusCode, name)
		if row.body != nil {
			require.True(t, bytes.Equal(row.body, body), name)
		}
		require.Equal(t, "no-store", got.Header.Get("Cache-Control"), name)
		require.Equal(t, "nosniff", got.Header.Get("X-Content-Type-Options"), name)
		for _, telling := range []string{"ETag", "Last-Modified", "Content-Disposition", "Expires", "Age"} {
			require.Empty(t, got.Header.Get(telling), "%s: %s", name, telling)
		}
		switch row.code {
		case 200:
			require.EqualValues(t, size, got.ContentLength, name)
			require.Equal(t, "audio/wav", got.Header.Get("Content-Type"), name)
		case 416:
			require.Equal(t, fmt.Sprintf("bytes */%d", size), got.Header.Get("Content-Range"), name)
			require.Equal(t, "application/problem+json", got.Header.Get("Content-Type"), name)
			if row.method == "HEAD" {
				require.Empty(t, body, name)
				break
			}
			var p problem
			require.NoError(t, json.Unmarshal(body, &p), name)
			require.Equal(t, []any{416, "urn:dewclaw:problem:part", "No such part"}, []any{p.Status, p.Type, p.Title}, name)
		}
	}
	require.Len(t, sc.s.media.kept, 1, "every range is a part of one clip")
}

// Somebody else's act is as absent as none; staff may hear it.
func TestMediaOfAnotherStudent(t *testing.T) {
	sc := newSchool(t)
	v := sc.heardOnce("student")
	v.get(v.path("/acts/1/sound")).is(http.StatusOK) // it is kept now, and still not theirs
	for _, path := range []string{v.path("/acts/1/sound"), v.path("/acts/2/picture"), v.path("/acts/2/sound"), "/api/v1/attempts/never-was/acts/1/sound"} {
		sc.as("student2").get(path).problem(http.StatusNotFound, "missing")
		sc.anyone().get(path).problem(http.StatusUnauthorized, "sign-in")
	}
	sc.as("instructor").get(v.path("/acts/1/sound")).is(http.StatusOK)
}

// Fifty requests at once over HTTP render one clip, and all get the same bytes.
func TestFiftyListenersRenderOnce(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	live := httptest.NewServer(sc.s.Handler())
	defer live.Close()
	v := sc.heardOnce("student")
	v.asked(live.URL, "GET", v.path(""), nil)
	var all sync.WaitGroup
	bodies := make([][]byte, 50)
	for i := range bodies {
		all.Go(func() { _, bodies[i] = v.asked(live.URL, "GET", v.path("/acts/1/sound"), nil) })
	}
	all.Wait()
	for _, body := range bodies {
		require.True(t, bytes.Equal(bodies[0], body))
	}
	require.Equal(t, "1", figure(t, sc.s.media, `dewclaw_media_requests_total{result="miss"}`))
	require.Equal(t, "1", figure(t, sc.s.media, "dewclaw_media_render_duration_seconds_count"))
	private := httptest.NewRecorder()
	sc.s.private().ServeHTTP(private, httptest.NewRequest("GET", "/metrics", nil))
	for _, name := range []string{"dewclaw_media_requests_total", "dewclaw_media_cache_bytes", "dewclaw_media_cache_clips", "dewclaw_media_render_duration_seconds"} {
		require.Contains(t, private.Body.String(), name, "on the private address")
	}
}

// A drawing is nobody's page: it loads and runs nothing, wherever it is opened.
func TestADrawingIsServedInASandbox(t *testing.T) {
	sc := newSchool(t)
	for kind, sandboxed := range map[string]bool{"image/svg+xml": true, "image/gif": false, "image/png": false, "image/jpeg": false, "audio/wav": false} {
		sc.s.handler = sc.oneClip(clip{kind, []byte("<svg xmlns='http://www.w3.org/2000/svg'/>")})
		r := sc.anyone().get("/clip").is(http.StatusOK)
		require.Equal(t, kind, r.header.Get("Content-Type"))
		require.Equal(t, "nosniff", r.header.Get("X-Content-Type-Options"))
		want := policy
		if sandboxed {
			want = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
		}
		require.Equal(t, []string{want}, r.header["Content-Security-Policy"], kind)
	}
	for _, kind := range []string{"text/html", "", "image/svg+xml; charset=utf-8", "application/xml"} {
		sc.s.handler = sc.oneClip(clip{kind, []byte("<script>alert(1)</script>")})
		got := sc.anyone().get("/clip").is(http.StatusInternalServerError)
		require.NotContains(t, string(got.body), "script", "only what is known to be safe is served")
	}
}

// oneClip serves one clip and nothing else.
func (sc *school) oneClip(m clip) http.Handler {
	h, err := sc.s.engine([]route{{get, "/clip", anyone, api, noBody, func(s *Server, c *gin.Context) error { return s.serveClip(c, m) }}})
	require.NoError(sc.t, err)
	return h
}

// An animal that arrests under the chest piece: the act that it died at still
// has its sound, as long as any other, and the visit takes no more.
func TestArrestIsHeard(t *testing.T) {
	sc := newSchool(t)
	v := sc.as("student").begin(sc.s.opaque("biscuit"))
	var last face.Answer
	for range 200 {
		if last = v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left sternal border"}); last.Ended != "" {
			break
		}
		sc.clock.Pass(time.Minute)
	}
	require.Equal(t, "arrest", last.Ended)
	require.True(t, last.Act.Heard)
	before := v.get(v.path(fmt.Sprintf("/acts/%d/sound", last.Last-1))).is(http.StatusOK).body
	after := v.get(v.path(fmt.Sprintf("/acts/%d/sound", last.Last))).is(http.StatusOK).body
	require.Len(t, after, len(before), "death is no matter of length")
	require.Greater(t, loudest(before), 4*loudest(after), "only the room is left")
	v.get(v.path(fmt.Sprintf("/acts/%d/sound", last.Last+1))).problem(http.StatusNotFound, "missing")
}

// loudest is the largest sample of a WAV.
func loudest(wav []byte) int {
	most := 0
	for i := 44; i+1 < len(wav); i += 2 {
		v := int(int16(binary.LittleEndian.Uint16(wav[i:])))
		most = max(most, v, -v)
	}
	return most
}

// picturesOf are the pictures of a patient, one for every step that has one.
func (sc *school) picturesOf(k *cases.Case) map[string]clip {
	p, err := cases.NewPatient(sc.s.library, k, cases.SeedOf(1))
	require.NoError(sc.t, err)
	cat, out := sc.s.library.Catalogue(k.Species), map[string]clip{}
	for _, step := range cat.Steps {
		if !p.Applies(step.ID) || !cat.Seen(step.ID) {
			continue
		}
		act := rubric.Act{N: 1, Kind: rubric.Examine, Step: step.ID}
		if len(step.Sites) > 0 {
			act.Site = step.Sites[0]
		}
		outcome, err := p.Apply(nil, act)
		require.NoError(sc.t, err, step.ID)
		if outcome.Refused {
			continue
		}
		out[step.ID], err = pictureOf.make(p, rubric.Entry{Act: act, Outcome: outcome}, 7)
		require.NoError(sc.t, err, step.ID)
	}
	return out
}

// Every step of every species that has a picture has one size for each media
// type, whatever patient it is drawn from.
func TestPicturesOfAStepAreOneSize(t *testing.T) {
	t.Parallel()
	sc := newSchool(t)
	sizes := map[string]map[int]bool{}
	for _, species := range sc.s.library.Species() {
		var patients []*cases.Case
		for _, k := range sc.s.library.Cases() {
			if k.Species == species && len(patients) < 4 {
				patients = append(patients, k)
			}
		}
		for _, k := range patients {
			for step, pic := range sc.picturesOf(k) {
				key := species + " " + step + " " + pic.kind
				if sizes[key] == nil {
					sizes[key] = map[int]bool{}
				}
				sizes[key][len(pic.body)] = true
			}
		}
	}
	require.Greater(t, len(sizes), 40)
	for _, key := range slices.Sorted(maps.Keys(sizes)) {
		require.Len(t, sizes[key], 1, "%s: %v", key, slices.Sorted(maps.Keys(sizes[key])))
	}
}

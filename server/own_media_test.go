package server

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/stretchr/testify/require"

	"dewclaw/cases"
)

func init() { openapi3filter.RegisterBodyDecoder("image/jpeg", openapi3filter.FileBodyDecoder) }

// murmuring is a recording made here: 16 bit, 8 kHz, 6 s, 92 beats a minute.
func murmuring(hertz float64) []byte {
	le := binary.LittleEndian
	var data []byte
	for i := range 8000 * 6 {
		at := math.Mod(float64(i)/8000+.1, 60./92)
		data = le.AppendUint16(data, uint16(int16(12000*math.Exp(-at/.03)*math.Sin(2*math.Pi*hertz*at))))
	}
	b := le.AppendUint32([]byte("RIFF"), uint32(36+len(data)))
	b = append(b, "WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00\x40\x1f\x00\x00\x80\x3e\x00\x00\x02\x00\x10\x00data"...)
	return append(le.AppendUint32(b, uint32(len(data))), data...)
}

// willowFiles are a school's case with a recording and a photograph of its own.
func willowFiles(t *testing.T, wav []byte) fstest.MapFS {
	t.Helper()
	text := string(cases.Builtin().Case("tansy").Source)
	text = strings.Replace(text, "case: tansy", "case: willow", 1)
	text = strings.Replace(text, "heart.rhythm: sinus arrhythmia", "heart.rhythm: regular\n  skin.lesions: old scar", 1)
	text += `media:
  heart.auscultate@left apex: {file: plum-apex.wav, rate: 92, consent: "asked of Mr Ffoulkes", licence: "for teaching at Plumfield"}
  skin.inspect: {file: plum-flank.jpg, shows: [skin.lesions], consent: "asked of Mr Ffoulkes", licence: "for teaching at Plumfield"}
`
	img := image.NewRGBA(image.Rect(0, 0, 90, 60))
	img.Pix[5000] = 200
	var b bytes.Buffer
	require.NoError(t, jpeg.Encode(&b, img, nil))
	return fstest.MapFS{"cases/willow.yaml": {Data: []byte(text)}, "media/plum-apex.wav": {Data: wav}, "media/plum-flank.jpg": {Data: b.Bytes()}}
}

// What was heard stays with the visit, though the school puts another recording
// in its place or takes it away; a new visit hears the new one.
func TestOwnMediaStayWithTheVisit(t *testing.T) {
	t.Parallel()
	files := willowFiles(t, murmuring(60))
	sc := newSchool(t, withFiles(t, files))
	begin := func() (*visit, []byte, []byte) {
		v := sc.browser("student").begin(sc.s.opaque("willow"))
		require.True(t, v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"}).Act.Heard)
		require.True(t, v.do(sentAct{Kind: "examine", Step: "skin.inspect"}).Act.Seen)
		sound, picture := v.get(v.path("/acts/1/sound")), v.get(v.path("/acts/2/picture"))
		require.Equal(t, "audio/wav", sound.header.Get("Content-Type"))
		require.Equal(t, "image/jpeg", picture.header.Get("Content-Type"))
		return v, sound.body, picture.body
	}
	v, sound, picture := begin()
	_, other, _ := begin()
	require.NotEqual(t, sound, other, "every act begins at its own phase")
	require.Len(t, other, len(sound))

	for _, later := range []fstest.MapFS{willowFiles(t, murmuring(90)), {}} {
		withFiles(t, later)(&sc.cfg)
		sc.restart()
		require.Equal(t, sound, v.get(v.path("/acts/1/sound")).body)
		require.Equal(t, picture, v.get(v.path("/acts/2/picture")).body)
	}
	v.send("POST", v.path("/finish"), nil)
	withFiles(t, willowFiles(t, murmuring(90)))(&sc.cfg)
	sc.restart()
	require.Equal(t, sound, v.get(v.path("/acts/1/sound")).body)
	_, fresh, _ := begin()
	require.NotEqual(t, sound, fresh)
}

// Staff read where media of the school's own stand and by what licence; a
// student reads nothing of them anywhere.
func TestOwnMediaAreForStaffToKnow(t *testing.T) {
	sc := newSchool(t, withFiles(t, willowFiles(t, murmuring(60))))
	page := string(sc.browser("instructor").get("/").body)
	require.Contains(t, page, "own recording at heart.auscultate@left apex (for teaching at Plumfield)")
	require.Contains(t, page, "own picture at skin.inspect (for teaching at Plumfield)")
	require.NotContains(t, page, "Ffoulkes", "consent holds a name and stays in the file")
	student := sc.browser("student")
	v := student.begin(sc.s.opaque("willow"))
	v.do(sentAct{Kind: "examine", Step: "heart.auscultate", Site: "left apex"})
	for _, path := range []string{"/", "/api/v1/cases", "/api/v1/catalogue/dog", v.path(""), "/visits/" + v.id, v.path("/acts/1/sound")} {
		got := student.get(path)
		all := string(got.body)
		for name, values := range got.header {
			all += name + strings.Join(values, " ")
		}
		for _, word := range []string{"plum-", "Plumfield", "Ffoulkes", "own recording"} {
			require.NotContains(t, all, word, path)
		}
	}
}

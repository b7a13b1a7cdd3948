package cases

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/color/palette"
	"image/draw"
	"image/gif"
	"image/jpeg"
	"image/png"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"dewclaw/cases/media"
	"dewclaw/rubric"
)

// heartWAV is a recording of a heart made here: 16 bit, 11.025 kHz, one channel.
func heartWAV(rate int, seconds float64) []byte {
	le := binary.LittleEndian
	var data []byte
	for i := range int(11025 * seconds) {
		at := math.Mod(float64(i)/11025+.1, 60/float64(rate))
		data = le.AppendUint16(data, uint16(int16(12000*math.Exp(-at/.03)*math.Sin(2*math.Pi*60*at))))
	}
	b := le.AppendUint32([]byte("RIFF"), uint32(36+len(data)))
	b = append(b, "WAVEfmt \x10\x00\x00\x00\x01\x00\x01\x00"...)
	b = le.AppendUint32(b, 11025)
	b = le.AppendUint32(b, 22050)
	b = append(b, "\x02\x00\x10\x00data"...)
	return append(le.AppendUint32(b, uint32(len(data))), data...)
}

func drawn() *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, 120, 90))
	draw.Draw(img, img.Rect, image.NewUniform(color.RGBA{180, 140, 110, 255}), image.Point{}, draw.Src)
	draw.Draw(img, image.Rect(40, 30, 80, 60), image.NewUniform(color.RGBA{200, 60, 60, 255}), image.Point{}, draw.Src)
	return img
}

func encoded(t testing.TB, encode func(b *bytes.Buffer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, encode(&b))
	return b.Bytes()
}

// breathGIF is a clip that moves: one breath of 2.5 s.
func breathGIF(b *bytes.Buffer) error {
	g := &gif.GIF{}
	for i := range 25 {
		p := image.NewPaletted(image.Rect(0, 0, 80, 60), palette.Plan9)
		draw.Draw(p, image.Rect(10, 10, 70, 30+i%13), image.Black, image.Point{}, draw.Src)
		g.Image, g.Delay = append(g.Image, p), append(g.Delay, 10)
	}
	return gif.EncodeAll(b, g)
}

// willow is a case of the library with media; tansy, made the same for every seed.
func willow(media string) []byte {
	text := string(Builtin().Case("tansy").Source)
	for _, x := range [][2]string{{"case: tansy", "case: willow"}, {"heart.rhythm: sinus arrhythmia", "heart.rhythm: regular\n  resp.pattern: even\n  skin.lesions: old scar"}} {
		text = strings.Replace(text, x[0], x[1], 1)
	}
	return []byte(text + media)
}

const papers = `consent: "written, owner, 2026-03-02", licence: "school's own, teaching only"`

const willowMedia = `media:
  heart.auscultate@left apex: {file: willow-apex.wav, rate: 92, ` + papers + `}
  skin.inspect: {file: willow-flank.jpg, shows: [skin.lesions, skin.colour], ` + papers + `}
  breathing.count: {file: willow-breath.gif, rate: 24, ` + papers + `}
`

// schoolFiles are a school's library with its media.
func schoolFiles(t testing.TB, media string) fstest.MapFS {
	return fstest.MapFS{
		"cases/willow.yaml":       {Data: willow(media)},
		"media/willow-apex.wav":   {Data: heartWAV(92, 5)},
		"media/willow-flank.jpg":  {Data: encoded(t, func(b *bytes.Buffer) error { return jpeg.Encode(b, drawn(), nil) })},
		"media/willow-breath.gif": {Data: encoded(t, breathGIF)},
	}
}

func schoolLibrary(t testing.TB, files fstest.MapFS) *Library {
	t.Helper()
	l, err := Load(BuiltinFiles(), files)
	require.NoError(t, err)
	return l
}

func willowPatient(t testing.TB, l *Library, seed uint64) *Patient {
	t.Helper()
	require.Empty(t, l.Broken())
	p, err := NewPatient(l, l.Case("willow"), SeedOf(seed))
	require.NoError(t, err)
	return p
}

// A school's own recording is what is heard, at its place and no other; its rate
// is what is there to count, however the animal was handled.
func TestOwnRecordingIsHeardAndCounted(t *testing.T) {
	l := schoolLibrary(t, schoolFiles(t, willowMedia))
	for seed := range uint64(4) {
		p := willowPatient(t, l, seed)
		tr := play(t, p, examine("heart.auscultate", "left apex", 15), examine("abdomen.palpate", "cranial", 20), examine("heart.auscultate", "left apex", 60), examine("heart.auscultate", "left base", 15))
		for _, e := range []rubric.Entry{tr[0], tr[2]} {
			require.Equal(t, "92", shownAt(e, "heart.rate", ""))
			for phase := range uint64(6) {
				n, err := p.Count(e, "heart.rate", phase*123456789, 60)
				require.NoError(t, err)
				require.Equal(t, 92, n)
				n, err = p.Count(e, "heart.rate", phase*123456789, 15)
				require.NoError(t, err)
				require.InDelta(t, 23, n, 1)
			}
		}
		own, err := p.Sound(tr[0], 7)
		require.NoError(t, err)
		again, err := p.Sound(tr[2], 7)
		require.NoError(t, err)
		require.Equal(t, own, again)
		require.Equal(t, l.Case("willow").Media[0].made.From(7), own)
		ours, err := p.Sound(tr[3], 7)
		require.NoError(t, err)
		require.Len(t, own, len(ours), "the length does not tell whose it is")
		require.Equal(t, own[:44], ours[:44])
		require.NotEqual(t, own, ours)
		_, err = p.Sound(tr[1], 7)
		require.ErrorIs(t, err, ErrNothingThere)
	}
}

// A photograph shows the fields that it names, and the others are described; a
// clip is counted.
func TestOwnPicturesAreSeen(t *testing.T) {
	l := schoolLibrary(t, schoolFiles(t, willowMedia))
	p := willowPatient(t, l, 3)
	tr := play(t, p, examine("breathing.count", "", 30), examine("skin.inspect", "", 25))
	senses := map[string]string{}
	for _, pc := range tr[1].Outcome.Percepts {
		senses[pc.Field] = pc.Sense
		require.NotEmpty(t, pc.Words)
	}
	require.Equal(t, "picture", senses["skin.lesions"])
	require.Equal(t, "picture", senses["skin.colour"])
	require.Equal(t, "words", senses["skin.bruises"])
	require.True(t, p.Seen("skin.inspect", ""))
	require.True(t, p.Heard("heart.auscultate", "left apex"))
	pic, err := p.Picture(tr[1], 5)
	require.NoError(t, err)
	require.Equal(t, "image/jpeg", pic.Type)
	_, err = jpeg.Decode(bytes.NewReader(pic.Bytes))
	require.NoError(t, err)
	require.Equal(t, "24", shownAt(tr[0], "resp.rate", ""))
	n, err := p.Count(tr[0], "resp.rate", 99, 30)
	require.NoError(t, err)
	require.Equal(t, 12, n)
	pic, err = p.Picture(tr[0], 5)
	require.NoError(t, err)
	require.Equal(t, "image/gif", pic.Type)
	_, err = gif.DecodeAll(bytes.NewReader(pic.Bytes))
	require.NoError(t, err)
}

// No recording of the living is heard over a heart that has stopped, nor at an
// act that was refused.
func TestOwnRecordingIsOfTheLiving(t *testing.T) {
	p := willowPatient(t, schoolLibrary(t, schoolFiles(t, willowMedia)), 1)
	e := play(t, p, examine("heart.auscultate", "left apex", 15))[0]
	require.NotNil(t, p.ownAt(e, media.Sound))
	s, err := p.opens(e.Outcome.State)
	require.NoError(t, err)
	dead, refused := e, e
	s.ended = arrested
	dead.Outcome.State = s.encode()
	refused.Outcome.Refused = true
	require.Nil(t, p.ownAt(dead, media.Sound))
	require.Nil(t, p.ownAt(refused, media.Sound))
	require.Nil(t, p.ownAt(e, media.Picture))
}

// A case with another recording is another case, and what an attempt began with
// is made again from what was kept, though the file be gone.
func TestWhatWasHeardIsKept(t *testing.T) {
	files := schoolFiles(t, willowMedia)
	l := schoolLibrary(t, files)
	k := l.Case("willow")
	sum := sha256.Sum256(k.Source)
	require.Equal(t, hex.EncodeToString(sum[:]), k.Hash)
	plain := Builtin().Case("tansy")
	sum = sha256.Sum256(plain.Source)
	require.Equal(t, hex.EncodeToString(sum[:]), plain.Hash)

	files["media/willow-apex.wav"] = &fstest.MapFile{Data: heartWAV(92, 6)}
	require.NotEqual(t, k.Hash, schoolLibrary(t, files).Case("willow").Hash)

	kept := map[string][]byte{}
	for i := range k.Media {
		sum := sha256.Sum256(k.Media[i].Bytes())
		kept[hex.EncodeToString(sum[:])] = k.Media[i].Bytes()
	}
	old := fstest.MapFS{"cases/case.yaml": {Data: k.Source}}
	for name, data := range catalogueFiles(l) {
		old[name] = &fstest.MapFile{Data: data}
	}
	again, err := LoadKept(nil, old, func(hash string) ([]byte, error) {
		if b := kept[hash]; b != nil {
			return b, nil
		}
		return nil, errors.New("no such thing")
	})
	require.NoError(t, err)
	was := willowPatient(t, again, 9)
	require.Equal(t, k.Hash, again.Case("willow").Hash)
	require.Equal(t, k.Source, again.Case("willow").Source)
	for _, act := range []rubric.Act{examine("heart.auscultate", "left apex", 15), examine("skin.inspect", "", 15), examine("breathing.count", "", 15)} {
		a, b := play(t, willowPatient(t, l, 9), act)[0], play(t, was, act)[0]
		require.Equal(t, a, b)
		if act.Site != "" {
			want, err := willowPatient(t, l, 9).Sound(a, 77777)
			require.NoError(t, err)
			got, err := was.Sound(b, 77777)
			require.NoError(t, err)
			require.Equal(t, want, got)
			continue
		}
		want, err := willowPatient(t, l, 9).Picture(a, 77777)
		require.NoError(t, err)
		got, err := was.Picture(b, 77777)
		require.NoError(t, err)
		require.Equal(t, want, got)
	}
	lost, err := LoadKept(nil, old, func(string) ([]byte, error) { return nil, errors.New("no such thing") })
	require.NoError(t, err)
	require.Contains(t, lost.Broken()[0].Problems[0].Message, "what it was is not kept: no such thing")
}

func catalogueFiles(l *Library) map[string][]byte {
	out := map[string][]byte{}
	for _, f := range l.files {
		out[f.name] = f.data
	}
	return out
}

// Everything that can be wrong with a medium is one clear line of the case file.
func TestBadMedia(t *testing.T) {
	files := schoolFiles(t, "")
	files["media/page.wav"] = &fstest.MapFile{Data: []byte("%PDF-1.7\n")}
	files["media/cut.wav"] = &fstest.MapFile{Data: heartWAV(92, 5)[:5000]}
	files["media/flank.png"] = &fstest.MapFile{Data: files["media/willow-flank.jpg"].Data}
	files["media/good.png"] = &fstest.MapFile{Data: encoded(t, func(b *bytes.Buffer) error { return png.Encode(b, drawn()) })}
	files["media/great.png"] = &fstest.MapFile{Data: make([]byte, media.MaxPicture+1)}
	apex := "heart.auscultate@left apex: "
	for _, row := range []struct{ medium, want string }{
		{apex + "{file: page.wav, rate: 92, " + papers + "}", ":32: page.wav: it is no WAV recording but a PDF; save it as WAV (PCM)"},
		{apex + "{file: cut.wav, rate: 92, " + papers + "}", ":32: cut.wav: it is cut short: its header promises 110294 bytes and 5000 are there"},
		{apex + "{file: gone.wav, rate: 92, " + papers + "}", "gone.wav: there is no media/gone.wav in the library"},
		{apex + "{file: wilow-apex.wav, rate: 92, " + papers + "}", `did you mean "willow-apex.wav"?`},
		{apex + "{file: ../cases/willow.yaml, rate: 92, " + papers + "}", "this should be the bare name of a file in media/"},
		{apex + "{file: /etc/passwd.wav, rate: 92, " + papers + "}", "this should be the bare name of a file in media/"},
		{apex + "{file: .wav, rate: 92, " + papers + "}", "this should be the bare name of a file in media/"},
		{"skin.inspect: {file: flank.png, shows: [skin.lesions], " + papers + "}", "flank.png: its name ends in .png and it is no such picture but a JPEG picture"},
		{"skin.inspect: {file: great.png, shows: [skin.lesions], " + papers + "}", "great.png: it is 8388609 bytes long; at most 8 MB are read"},
		{"skin.inspect: {file: notes.txt, shows: [skin.lesions], " + papers + "}", "there is no media/notes.txt"},
		{apex + "{rate: 92, " + papers + "}", ":3: a medium needs file: the name of a file in media/, such as willow-apex.wav"},
		{apex + "{file: willow-apex.wav, rate: 92, licence: our own}", ":3: a medium needs consent: who agreed, how and when, and where that is kept"},
		{apex + "{file: willow-apex.wav, rate: 92, consent: by letter, licence: ok}", "licence has 2 characters; right would be 3 to 200"},
		{apex + "{file: willow-apex.wav, rate: 92, licence: our own, consent: " + strings.Repeat("x", 201) + "}", "consent has 201 characters; right would be 3 to 200"},
		{apex + `{file: willow-apex.wav, rate: 92, licence: our own, consent: "by\nletter"}`, "consent should be one line"},
		{apex + "{file: willow-apex.wav, " + papers + "}", ":3: heart.rate is counted in it, so it needs rate: how many there are in it a minute"},
		{apex + "{file: willow-apex.wav, rate: 0, " + papers + "}", "this should be a whole number from 1 to 600"},
		{apex + "{file: willow-apex.wav, rate: 140, " + papers + "}", "the rate 140 is not in the truth of heart.rate, 82 to 104; widen the truth or state what is counted in it"},
		{apex + "{file: willow-apex.wav, rate: 92, volume: 3, " + papers + "}", `unknown key "volume" in a medium`},
		{"heart.auscultate: {file: willow-apex.wav, rate: 92, " + papers + "}", "heart.auscultate is done at a site; write heart.auscultate@left apex or @"},
		{"heart.auscultate@left appex: {file: willow-apex.wav, rate: 92, " + papers + "}", `heart.auscultate has no site "left appex"; did you mean "left apex"?`},
		{"heart.listen: {file: willow-apex.wav, rate: 92, " + papers + "}", `there is no step "heart.listen"`},
		{"skin.inspect@left: {file: good.png, shows: [skin.lesions], " + papers + "}", "skin.inspect has no sites; write skin.inspect alone"},
		{"coat.inspect: {file: willow-apex.wav, " + papers + "}", "ours gives no sound of coat.inspect, so shows: should name the fields that this one gives: [coat.quality"},
		{"skin.inspect: {file: good.png, shows: [skin.colour, gait], " + papers + "}", `there is no field of skin.inspect called "gait"`},
		{"skin.inspect: {file: good.png, rate: 30, shows: [skin.colour], " + papers + "}", "no rate is counted in it; leave rate: out"},
		{"breathing.count: {file: good.png, rate: 24, " + papers + "}", "resp.rate is counted in it, so it has to move: a GIF of more than one frame"},
		{"breathing.count: {file: willow-breath.gif, shows: [resp.effort], " + papers + "}", "resp.rate is told by ours alone at breathing.count, and nobody could tell it by this one; leave ours there"},
		{"mouth.refill: {file: willow-breath.gif, shows: [crt], " + papers + "}", "crt is read to a figure of its own patient"},
		{apex + "[{file: willow-apex.wav, rate: 92, " + papers + "}, {file: willow-apex.wav, rate: 92, " + papers + "}]", "heart.auscultate@left apex has a sound already; an act has one sound and one picture"},
		{apex + "{file: willow-apex.wav, rate: 92, " + papers + "}\n  " + apex + "{file: willow-apex.wav, rate: 92, " + papers + "}", `"heart.auscultate@left apex" stands twice in media`},
		{"pulse.palpate@left: {file: willow-apex.wav, " + papers + "}", "at pulse.palpate a pulse is felt in a second channel of ours, which no recording of yours has; leave ours there"},
		{"testes.palpate@left: {file: good.png, shows: [testes.feel], " + papers + "}", "does not apply to a patient of this sex and age"},
		{"coat.inspect: {file: good.png, shows: [coat.quality], " + papers + "}", ""},
	} {
		_, problems := Builtin().WithMedia(files).ParseCase("w.yaml", willow("media:\n  "+row.medium+"\n"))
		var all []string
		for _, p := range problems {
			all = append(all, p.String())
		}
		if row.want != "" {
			require.Contains(t, strings.Join(all, "\n"), row.want, row.medium)
			require.NotEmpty(t, problems)
		}
		for _, p := range problems {
			require.Regexp(t, `^w\.yaml:\d+:\d+: `, p.String())
		}
	}
}

// A medium is always the same, so what it shows must not be drawn.
func TestWhatAMediumShowsIsNotDrawn(t *testing.T) {
	files := schoolFiles(t, "")
	for _, row := range []struct{ from, to, want string }{
		{"heart.rhythm: regular", "heart.rhythm: [regular, sinus arrhythmia]", "it is always the same, and heart.rhythm is drawn from regular, sinus arrhythmia; state one"},
		{"  resp.pattern: even\n", "", "resp.pattern is not stated under truth and may be"},
		{"  skin.lesions: old scar\n", "", "skin.lesions is not stated under truth and may be none, old scar; state what is heard or seen in it"},
		{"heart.rate: 82..104", "heart.rate: 95..104", "the rate 92 is not in the truth of heart.rate, 95 to 104"},
		{"  heart.rate: 82..104\n", "", ""},
		{"case: willow\n", "case: willow\nmirror: true\n", "a recording or picture is of one side, so a case with media cannot be mirrored"},
	} {
		text := string(willow(willowMedia))
		require.Contains(t, text, row.from)
		_, problems := Builtin().WithMedia(files).ParseCase("w.yaml", []byte(strings.Replace(text, row.from, row.to, 1)))
		if row.want == "" {
			require.Empty(t, problems)
			continue
		}
		require.Len(t, problems, 1)
		require.Contains(t, problems[0].Message, row.want)
	}
}

// A broken medium breaks its case and no other; a file that no case names is
// told; a later layer's file takes the place of an earlier one's.
func TestBrokenMediaNeverStopLoad(t *testing.T) {
	files := schoolFiles(t, willowMedia)
	files["media/willow-apex.wav"] = &fstest.MapFile{Data: []byte("not a recording")}
	files["media/spare.jpg"] = files["media/willow-flank.jpg"]
	files["media/.hidden"] = &fstest.MapFile{}
	l := schoolLibrary(t, files)
	require.Nil(t, l.Case("willow"))
	require.Len(t, l.Cases(), len(Builtin().Cases()))
	require.Len(t, l.Broken(), 2)
	require.Contains(t, l.Broken()[0].Problems[0].String(), "willow-apex.wav: it is no WAV recording but something else")
	require.Equal(t, "media/spare.jpg:1:1: no case uses this file; name it under media: in a case, or take it out of the folder", l.Broken()[1].Problems[0].String())

	repaired, err := Load(BuiltinFiles(), files, fstest.MapFS{"media/willow-apex.wav": {Data: heartWAV(92, 5)}})
	require.NoError(t, err)
	require.NotNil(t, repaired.Case("willow"))
}

// What is served lies in the school's folder: no link leads out of it.
func TestNoLinkIsFollowed(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(outside, "a.wav"), heartWAV(92, 5), 0o600))
	require.NoError(t, os.Mkdir(filepath.Join(dir, "media"), 0o700))
	require.NoError(t, os.Symlink(filepath.Join(outside, "a.wav"), filepath.Join(dir, "media", "willow-apex.wav")))
	text := willow("media:\n  heart.auscultate@left apex: {file: willow-apex.wav, rate: 92, " + papers + "}\n")
	_, problems := Builtin().WithMedia(os.DirFS(dir)).ParseCase("w.yaml", text)
	require.Len(t, problems, 1)
	require.Contains(t, problems[0].Message, "media/willow-apex.wav is a link or no plain file; put the file itself there")

	whole := t.TempDir()
	require.NoError(t, os.Symlink(outside, filepath.Join(whole, "media")))
	_, problems = Builtin().WithMedia(os.DirFS(whole)).ParseCase("w.yaml", []byte(strings.Replace(string(text), "willow-apex.wav", "a.wav", 1)))
	require.Len(t, problems, 1)
	require.Contains(t, problems[0].Message, "is a link or no plain file")
}

// Media of a library are made once, and together they are bounded.
func TestMediaAreBounded(t *testing.T) {
	files := schoolFiles(t, willowMedia)
	s := newShelf([]fs.FS{files}, nil)
	m := Medium{Step: "heart.auscultate", Site: "left apex", File: "willow-apex.wav", Rate: 92}
	first, err := s.get(&m, "")
	require.NoError(t, err)
	second, err := s.get(&m, "")
	require.NoError(t, err)
	require.Same(t, first, second)
	require.Equal(t, first.Size(), s.total)
	s.total = MaxMedia - 1000
	m.Rate = 93
	_, err = s.get(&m, "")
	require.ErrorContains(t, err, "with it the library's own media take more than 64 MB of memory")
}

// A recording of the school's is as loud as ours at the same place, within 6 dB.
func TestOwnRecordingsAreAsLoudAsOurs(t *testing.T) {
	for _, row := range []struct{ step, site string }{{"heart.auscultate", "left apex"}, {"lungs.auscultate", "left caudodorsal"}} {
		p, err := NewPatient(Builtin(), Builtin().Case("tansy"), SeedOf(4))
		require.NoError(t, err)
		wav, err := p.Sound(play(t, p, examine(row.step, row.site, 15))[0], 1)
		require.NoError(t, err)
		sum := 0.0
		for i := 44; i < len(wav); i += 2 {
			v := float64(int16(binary.LittleEndian.Uint16(wav[i:])))
			sum += v * v
		}
		ours := math.Sqrt(sum / float64((len(wav)-44)/2))
		require.InDelta(t, 0, 20*math.Log10(ours/float64(loudAt(row.step))), 6, fmt.Sprintf("%s: ours is %.0f", row.step, ours))
	}
}

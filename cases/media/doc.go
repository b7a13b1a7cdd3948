// Package media turns a school's own recording, photograph or clip into what
// can be served in the place of a drawn one. Nothing of the file is passed on but
// what is heard and seen: it is decoded, brought to the usual form and written
// anew, so that names, places, dates and every other remark in it are gone.
//
//   - A recording is RIFF WAVE: PCM of 8, 16 or 24 bits or float of 32, one or
//     two channels, 4 to 48 kHz, 3 to 120 s. It becomes a minute of 8 kHz that
//     runs round without a seam, as long in bytes as a rendered one. Of a longer
//     recording the first minute is used.
//   - A photograph is PNG or JPEG, at most 20 megapixels. It is turned as its
//     Exif orientation says, averaged down to at most 960 by 1280 and filled up
//     to a multiple of 64 kB.
//   - A clip is an animated GIF of at most 300 frames, filled up likewise.
//
// Where a rate is counted in it, the recording or clip is cut to whole beats or
// breaths of that rate, so that it goes on evenly over the seam.
//
// Everything is integers, and the same file gives the same bytes on every
// processor, as long as the standard library's encoders are the same. What an
// attempt heard is kept as bytes, not made anew, for they may change.
package media

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
)

// The largest files that are read, in bytes: 120 s of 48 kHz stereo float, and a
// photograph or clip.
const (
	MaxSound   = 48 << 20
	MaxPicture = 8 << 20
)

// The two senses that a medium is for.
const (
	Sound   = "sound"
	Picture = "picture"
)

// Medium is a recording, photograph or clip that is ready to be served. It never
// changes.
type Medium struct {
	Sense string // sound or picture
	Type  string // media type
	Hash  string // SHA-256 of the bytes, hex
	Moves bool   // a clip of more than one frame
	bytes []byte // as it begins at phase 0
	head  int    // where what runs round begins
	spans []span // frames of a clip that may begin anywhere; nil: the samples of a sound, or a picture that begins at its beginning
}

// Size is what it takes in memory, in bytes.
func (m *Medium) Size() int { return len(m.bytes) }

// Bytes are those that Kept takes; they must not be changed.
func (m *Medium) Bytes() []byte { return m.bytes }

// From is the whole medium, beginning at a phase where it runs round. It must
// not be changed.
func (m *Medium) From(phase uint64) []byte {
	switch {
	case m.Sense == Sound:
		return turnSound(m.bytes, m.head, phase)
	case len(m.spans) > 1:
		return turnFrames(m.bytes, m.head, m.spans, phase)
	}
	return m.bytes
}

// Make makes a medium of a file: .wav, .png, .jpg, .jpeg or .gif by its kind.
// Rate is what is counted in it a minute, 0 where nothing is; level is how loud a
// recording shall be, as the root of its mean square in a 16 bit sample.
func Make(kind string, file []byte, rate, level int) (*Medium, error) {
	switch kind {
	case ".wav":
		return makeSound(file, rate, level)
	case ".gif":
		return makeClip(file, rate)
	case ".png", ".jpg", ".jpeg":
		return makePhotograph(kind, file)
	}
	return nil, fmt.Errorf("a file that ends in %q is not known; right would be .wav, .png, .jpg, .jpeg or .gif", kind)
}

// Kept takes the bytes of a medium as they were made before, where rate is that
// it was made with.
func Kept(bytes []byte, rate int) (*Medium, error) {
	switch whatIs(bytes) {
	case aWave:
		if len(bytes) != len(blank()) {
			return nil, errors.New("the kept recording has another length than it was kept with")
		}
		return ready(Sound, "audio/wav", bytes, soundHead(), nil), nil
	case aJPEG:
		return ready(Picture, "image/jpeg", bytes, 0, nil), nil
	case aPNG:
		return ready(Picture, "image/png", bytes, 0, nil), nil
	case aGIF:
		return readyClip(bytes, rate)
	}
	return nil, errors.New("the kept bytes are no recording, photograph or clip")
}

func ready(sense, kind string, bytes []byte, head int, spans []span) *Medium {
	sum := sha256.Sum256(bytes)
	return &Medium{Sense: sense, Type: kind, Hash: hex.EncodeToString(sum[:]), bytes: bytes, head: head, spans: spans}
}

// The kinds of file by which they begin.
const (
	aWave = "a WAV recording"
	aPNG  = "a PNG picture"
	aJPEG = "a JPEG picture"
	aGIF  = "a GIF picture"
)

// beginnings are how files begin.
var beginnings = []struct {
	at   int
	text string
	is   string
}{
	{8, "WAVE", aWave},
	{0, "\x89PNG\r\n\x1a\n", aPNG},
	{0, "\xff\xd8\xff", aJPEG},
	{0, "GIF87a", aGIF},
	{0, "GIF89a", aGIF},
	{0, "%PDF", "a PDF"},
	{0, "PK\x03\x04", "a ZIP archive"},
	{0, "OggS", "an Ogg file"},
	{0, "fLaC", "a FLAC recording"},
	{0, "ID3", "an MP3 recording"},
	{0, "\xff\xfb", "an MP3 recording"},
	{0, "FORM", "an AIFF recording"},
	{8, "WEBP", "a WebP picture"},
	{4, "ftyp", "an MP4, M4A or HEIC file"},
	{0, "BM", "a BMP picture"},
	{0, "II*\x00", "a TIFF picture"},
	{0, "MM\x00*", "a TIFF picture"},
	{0, "RIFX", "a RIFX file"},
	{0, "RF64", "an RF64 file"},
	{0, "<", "a text such as SVG, HTML or XML"},
}

// whatIs says what a file is by its beginning.
func whatIs(b []byte) string {
	if len(b) == 0 {
		return "empty"
	}
	for _, x := range beginnings {
		if len(b) >= x.at+len(x.text) && string(b[x.at:x.at+len(x.text)]) == x.text {
			return x.is
		}
	}
	return "something else"
}

// ceiling is the next multiple of 64 kB, to which pictures are filled up so that
// their length tells little.
func ceiling(n int) int {
	const step = 64 << 10
	return (n + step - 1) / step * step
}

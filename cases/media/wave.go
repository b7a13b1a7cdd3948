package media

import (
	"encoding/binary"
	"errors"
	"fmt"
)

// What is read of a recording.
const (
	slowest, fastest = 4000, 48000 // samples a second
	least, most      = 3, 120      // seconds
	full             = 1 << 23     // the greatest sample, as all kinds of samples are read
	loudest          = 1 << 29     // of a float, which may be greater than its greatest
)

// wave is a recording as it lies in its file.
type wave struct {
	tag, channels, rate, bits int
	data                      []byte
}

// readWave finds the samples of a RIFF WAVE file and checks every size that it
// states (Microsoft and IBM, Multimedia Programming Interface and Data
// Specifications 1.0, 1991; WAVE_FORMAT_EXTENSIBLE as of ksmedia.h).
func readWave(b []byte) (wave, error) {
	if len(b) < 12 || string(b[:4]) != "RIFF" || string(b[8:12]) != "WAVE" {
		return wave{}, fmt.Errorf("it is no WAV recording but %s; save it as WAV (PCM)", whatIs(b))
	}
	size := int64(binary.LittleEndian.Uint32(b[4:])) + 8
	switch here := int64(len(b)); {
	case size > here:
		return wave{}, fmt.Errorf("it is cut short: its header promises %d bytes and %d are there", size, here)
	case here > size+size%2:
		return wave{}, fmt.Errorf("its header says that it ends after %d bytes and %d are there; save it anew", size, here)
	}
	return readChunks(b[12:size])
}

// readChunks walks the chunks of a WAVE form; of those that it does not know
// nothing is kept.
func readChunks(b []byte) (w wave, err error) {
	for len(b) > 0 {
		if len(b) < 8 {
			return w, fmt.Errorf("%d bytes after its last chunk belong to none; save it anew", len(b))
		}
		id, size := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:]))
		if b = b[8:]; size > int64(len(b)) {
			return w, fmt.Errorf("its chunk %q claims %d bytes and %d are left: it is cut short or damaged", id, size, len(b))
		}
		body := b[:size]
		b = b[min(size+size%2, int64(len(b))):]
		switch {
		case id == "fmt " && w.rate != 0, id == "data" && w.data != nil:
			return w, fmt.Errorf("it has two chunks %q; save it anew as one recording", id)
		case id == "fmt ":
			err = w.form(body)
		case id == "data" && w.rate == 0:
			err = errors.New(`its chunk "data" stands before "fmt ", which says how to read it; save it anew`)
		case id == "data":
			w.data = body
		}
		if err != nil {
			return w, err
		}
	}
	return w, w.whole()
}

// form reads the chunk that says how the samples are written.
func (w *wave) form(b []byte) error {
	if len(b) < 16 {
		return fmt.Errorf(`its chunk "fmt " has %d bytes and needs 16`, len(b))
	}
	le := binary.LittleEndian
	w.tag, w.channels, w.bits = int(le.Uint16(b)), int(le.Uint16(b[2:])), int(le.Uint16(b[14:]))
	rate, perSecond, align := int64(le.Uint32(b[4:])), int64(le.Uint32(b[8:])), int64(le.Uint16(b[12:]))
	if w.tag == tagExtensible {
		if err := w.extended(b); err != nil {
			return err
		}
	}
	switch {
	case w.channels < 1 || w.channels > 2:
		return fmt.Errorf("it has %d channels; right would be one or two", w.channels)
	case rate < slowest || rate > fastest:
		return fmt.Errorf("it has %d samples a second; right would be %d to %d", rate, slowest, fastest)
	case !w.known():
		return fmt.Errorf("its samples are %s of %d bits; right would be PCM of 8, 16 or 24 bits, or float of 32", tagName(w.tag), w.bits)
	case align != int64(w.align()) || perSecond != rate*align:
		return fmt.Errorf("its header contradicts itself: %d channels of %d bits at %d a second are %d bytes a sample and %d a second, not %d and %d",
			w.channels, w.bits, rate, w.align(), rate*int64(w.align()), align, perSecond)
	}
	w.rate = int(rate)
	return nil
}

// Tags of formats.
const (
	tagPCM        = 1
	tagFloat      = 3
	tagExtensible = 0xfffe
)

// formGUID is how the sub-format of an extensible chunk ends where it begins with a tag.
const formGUID = "\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71"

// extended reads the part of an extensible chunk that names the true format.
func (w *wave) extended(b []byte) error {
	if len(b) < 40 || binary.LittleEndian.Uint16(b[16:]) < 22 {
		return fmt.Errorf(`its chunk "fmt " has %d bytes, and one of the extensible kind needs 40`, len(b))
	}
	if string(b[26:40]) != formGUID {
		return errors.New("its samples are of a private kind; save it as WAV (PCM)")
	}
	if valid := int(binary.LittleEndian.Uint16(b[18:])); valid > w.bits {
		return fmt.Errorf("its header says that %d bits of %d are in use", valid, w.bits)
	}
	w.tag = int(binary.LittleEndian.Uint16(b[24:]))
	return nil
}

func (w *wave) known() bool {
	return w.tag == tagPCM && (w.bits == 8 || w.bits == 16 || w.bits == 24) || w.tag == tagFloat && w.bits == 32
}

// align is the bytes of a sample of all channels.
func (w *wave) align() int { return w.channels * w.bits / 8 }

var tagNames = map[int]string{tagPCM: "PCM", 2: "ADPCM", tagFloat: "float", 6: "A-law", 7: "mu-law", 0x11: "IMA ADPCM", 0x31: "GSM", 0x55: "MP3"}

func tagName(tag int) string {
	if name := tagNames[tag]; name != "" {
		return name
	}
	return fmt.Sprintf("of the unknown kind %d", tag)
}

// frames is how many samples of all channels there are.
func (w *wave) frames() int { return len(w.data) / w.align() }

// whole checks that there is a recording of a fitting length.
func (w *wave) whole() error {
	switch {
	case w.rate == 0:
		return errors.New(`it has no chunk "fmt ", so that nobody knows how to read it`)
	case len(w.data) == 0:
		return errors.New("it holds no sample")
	case len(w.data)%w.align() != 0:
		return fmt.Errorf("its %d bytes of samples are no whole number of samples of %d bytes: it is cut short", len(w.data), w.align())
	case w.frames() < least*w.rate:
		return fmt.Errorf("it lasts %s s; right would be %d to %d s", tenths(w.frames(), w.rate), least, most)
	case w.frames() > most*w.rate:
		return fmt.Errorf("it lasts %s s; right would be %d to %d s, of which the first minute is used", tenths(w.frames(), w.rate), least, most)
	}
	return nil
}

// tenths words a quotient with one place.
func tenths(a, b int) string {
	t := int64(a) * 10 / int64(b)
	return fmt.Sprintf("%d.%d", t/10, t%10)
}

// mono reads the first so many samples, the channels averaged.
func (w *wave) mono(n int) ([]int32, error) {
	out := make([]int32, min(n, w.frames()))
	for i := range out {
		sum := 0
		for c := range w.channels {
			v, ok := w.sample(i*w.channels + c)
			if !ok {
				return nil, fmt.Errorf("its sample %d is no number; save it anew", i)
			}
			sum += v
		}
		out[i] = int32(sum / w.channels)
	}
	return out, nil
}

// sample is the i-th of all channels, full at its greatest.
func (w *wave) sample(i int) (int, bool) {
	switch le := binary.LittleEndian; w.bits {
	case 8:
		return (int(w.data[i]) - 128) << 16, true
	case 16:
		return int(int16(le.Uint16(w.data[2*i:]))) << 8, true
	case 24:
		b := w.data[3*i : 3*i+3]
		return int(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24) >> 8), true
	default:
		return floated(le.Uint32(w.data[4*i:]))
	}
}

// floated reads a float of 32 bits (IEEE 754) as a whole number, full for 1. What
// is no number, or none that ends, it refuses.
func floated(b uint32) (int, bool) {
	exponent, v := int(b>>23&0xff)-127, int(b&(1<<23-1)|1<<23)
	switch {
	case exponent == 128:
		return 0, false
	case exponent < -24:
		return 0, true
	case exponent < 0:
		v >>= -exponent
	case exponent < 6:
		v <<= exponent
	default:
		v = loudest
	}
	if b>>31 == 1 {
		v = -v
	}
	return v, true
}

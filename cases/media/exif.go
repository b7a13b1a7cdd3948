package media

import (
	"bytes"
	"encoding/binary"
)

// orientation is how a photograph is to be turned, 1 to 8, as its Exif says (Exif
// 2.3, tag 0x0112); 1 where it says nothing that can be read.
func orientation(file []byte) int {
	var tiff []byte
	if whatIs(file) == aPNG {
		eachChunk(file, func(kind string, body []byte) {
			if kind == "eXIf" {
				tiff = body
			}
		})
	} else {
		tiff = exifOfJPEG(file)
	}
	return turnOf(tiff)
}

// exifOfJPEG is the TIFF part of the first Exif segment before the picture
// begins, or nil.
func exifOfJPEG(b []byte) []byte {
	const mark = "Exif\x00\x00"
	for b = b[2:]; len(b) >= 4 && b[0] == 0xff && b[1] != 0xda; {
		size := int(binary.BigEndian.Uint16(b[2:]))
		if b[1] == 0xff { // fill
			b = b[1:]
			continue
		}
		if size < 2 || size+2 > len(b) {
			return nil
		}
		if body := b[4 : size+2]; b[1] == 0xe1 && bytes.HasPrefix(body, []byte(mark)) {
			return body[len(mark):]
		}
		b = b[size+2:]
	}
	return nil
}

// eachChunk walks the chunks of a PNG as far as they are whole.
func eachChunk(b []byte, f func(kind string, body []byte)) {
	for b = b[8:]; len(b) >= 12; {
		size := int64(binary.BigEndian.Uint32(b))
		if size > int64(len(b)-12) {
			return
		}
		f(string(b[4:8]), b[8:8+size])
		b = b[12+size:]
	}
}

// turnOf finds the orientation in the first directory of a TIFF.
func turnOf(b []byte) int {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(b, []byte("II*\x00")):
		order = binary.LittleEndian
	case bytes.HasPrefix(b, []byte("MM\x00*")):
		order = binary.BigEndian
	}
	if order == nil || len(b) < 8 {
		return 1
	}
	at := int64(order.Uint32(b[4:]))
	if at+2 > int64(len(b)) {
		return 1
	}
	n := int(order.Uint16(b[at:]))
	for b = b[at+2:]; n > 0 && len(b) >= 12; n-- {
		if order.Uint16(b) == 0x0112 && order.Uint16(b[2:]) == 3 {
			if v := int(order.Uint16(b[8:])); v >= 1 && v <= 8 {
				return v
			}
		}
		b = b[12:]
	}
	return 1
}

package senses

import "encoding/binary"

// packer packs frames as the format wants them: LZW with codes of growing
// length, lowest bit first. A table of what follows each string is four times
// as fast as the hash of compress/lzw, and a film has many frames.
type packer struct {
	next  [4096][8]uint16 // the code of a string and one more colour; 0: none
	out   []byte
	bits  uint32 // not yet put out
	have  uint   // how many of them
	width uint   // of a code
	last  uint16 // the highest code given out
	pix   []byte
}

// change is the frame that turns one canvas into another.
func (p *packer) change(from, to *canvas, centis int) []byte {
	x0, y0, x1, y1 := changed(from, to)
	out := []byte{0x21, 0xf9, 4, 0b0101, byte(centis), byte(centis >> 8), kept, 0, 0x2c}
	for _, v := range []int{x0, y0, x1 - x0, y1 - y0} {
		out = binary.LittleEndian.AppendUint16(out, uint16(v))
	}
	least := uint(2)
	if p.take(from, to, x0, y0, x1, y1) >= own {
		least = 3
	}
	out = append(out, 0, byte(least))
	p.pack(least)
	for b := p.out; len(b) > 0; {
		n := min(len(b), 255)
		out = append(append(out, byte(n)), b[:n]...)
		b = b[n:]
	}
	return append(out, 0)
}

// take gathers the pixels of a rectangle, those that stay as kept, and says
// which colour of them is the highest.
func (p *packer) take(from, to *canvas, x0, y0, x1, y1 int) (highest byte) {
	p.pix = p.pix[:0]
	for y := y0; y < y1; y++ {
		row := to.pix[y*to.w+x0 : y*to.w+x1]
		if from == nil {
			p.pix = append(p.pix, row...)
			highest = own
			continue
		}
		before := from.pix[y*to.w+x0 : y*to.w+x1]
		for i, v := range row {
			if before[i] == v {
				v = kept
			}
			highest = max(highest, v)
			p.pix = append(p.pix, v)
		}
	}
	return highest
}

// pack packs the pixels that were taken.
func (p *packer) pack(least uint) {
	p.out, p.bits, p.have, p.last = p.out[:0], 0, 0, 4095
	p.begin(least)
	p.put(1 << least)
	code := uint16(p.pix[0])
	for _, v := range p.pix[1:] {
		if then := p.next[code][v]; then != 0 {
			code = then
			continue
		}
		p.put(code)
		p.grow()
		p.next[code][v] = p.last
		if p.last == 4094 {
			p.put(1 << least)
			p.begin(least)
		}
		code = uint16(v)
	}
	p.put(code)
	p.grow()
	p.put(1<<least + 1)
	if p.have > 0 {
		p.out = append(p.out, byte(p.bits))
	}
}

// begin empties the table.
func (p *packer) begin(least uint) {
	clear(p.next[:p.last+1])
	p.width, p.last = least+1, 1<<least+1
}

// grow counts the string that the other side adds to its table after a code.
func (p *packer) grow() {
	p.last++
	if p.last == 1<<p.width && p.width < 12 {
		p.width++
	}
}

// put writes a code.
func (p *packer) put(code uint16) {
	p.bits |= uint32(code) << p.have
	p.have += p.width
	for p.have >= 8 {
		p.out = append(p.out, byte(p.bits))
		p.bits >>= 8
		p.have -= 8
	}
}

package senses

// CheekTeeth are a rabbit's cheek teeth of one side through the cone of an
// otoscope: tongue to the left, cheek to the right.
type CheekTeeth struct {
	Upper  int // 0 level, 1 small points, 2 a spur into the cheek, 3 tall and uneven
	Lower  int // 0 level, 1 small points, 2 a spur on the tongue, 3 leaning over the tongue
	Tongue int // 0 whole, 1 grooved, 2 raw
	Cheek  int // 0 whole, 1 raw, 2 packed with food
}

// Picture draws the field of the cone.
func (c CheekTeeth) Picture() Picture {
	s := drawing()
	s.clip("a", pen(`stroke-width="16"`), round(480, 360, 340, 340), func() {
		s.oval(flat(mouth), 480, 360, 360, 360)
		c.walls(s)
		for i := 3; i >= 0; i-- {
			c.tooth(s, i, false)
			c.tooth(s, i, true)
		}
	})
	return s.Picture()
}

// walls draws cheek and tongue.
func (c CheekTeeth) walls(s *still) {
	s.shape(filled(healthyGum), dot{900, -20, 1}, dot{640, -20, 1}, dot{560, 120}, dot{620, 230}, dot{676, 360}, dot{640, 500}, dot{580, 620}, dot{660, 740, 1}, dot{900, 740, 1})
	s.shape(filled(healthyGum.mix(mouth, 140)), dot{60, -20, 1}, dot{640, -20, 1}, dot{560, 112}, dot{440, 196}, dot{300, 150}, dot{140, 160, 1})
	s.shape(filled(healthyGum.mix(mouth, 140)), dot{330, 760, 1}, dot{420, 600}, dot{500, 500}, dot{600, 600}, dot{680, 760, 1})
	tongue := RGB{0xd9, 0x7e, 0x88}
	s.shape(filled(tongue), dot{90, 700, 1}, dot{100, 480}, dot{180, 400}, dot{300, 386}, dot{392, 420}, dot{430, 500}, dot{420, 620}, dot{400, 760, 1})
	s.line(hair, dot{210, 440}, dot{240, 540}, dot{250, 660})
	switch c.Tongue {
	case 1:
		s.shape(pen(`stroke="none" fill="#f3d3d3"`), dot{398, 470}, dot{420, 510}, dot{420, 590}, dot{396, 620}, dot{388, 540})
		s.line(hair, dot{394, 476}, dot{386, 540}, dot{394, 616})
	case 2:
		s.shape(pen(`class="e" fill="#f3d3d3"`), dot{360, 470}, dot{410, 466}, dot{428, 530}, dot{400, 590}, dot{352, 570}, dot{338, 520})
		s.shape(flat(sore), dot{368, 492}, dot{400, 488}, dot{410, 530}, dot{392, 566}, dot{362, 552}, dot{354, 520})
	}
	switch c.Cheek {
	case 1:
		s.shape(pen(`class="e" fill="#f6d8d6"`), dot{668, 250}, dot{720, 232}, dot{760, 300}, dot{752, 390}, dot{708, 420}, dot{682, 350})
		s.shape(flat(sore), dot{690, 270}, dot{718, 262}, dot{740, 310}, dot{734, 376}, dot{712, 392}, dot{700, 340})
	case 2:
		straw := RGB{0x8d, 0x8a, 0x4e}
		s.shape(filled(straw), dot{640, 270}, dot{720, 240}, dot{780, 310}, dot{776, 420}, dot{710, 480}, dot{640, 450}, dot{620, 360})
		for i := range 7 {
			x, y := 650+i*17, 296+i*53%150
			s.line(hair, dot{x, y}, dot{x + 26, y + 14}, dot{x + 44, y + 8})
		}
	}
}

// tooth draws one of four, the nearest first; those behind are smaller.
func (c CheekTeeth) tooth(s *still, i int, lower bool) {
	size := 100 - i*19
	x, y, grade := 600-i*46, 150+i*46, c.Upper
	tall, lean := size*105/100, 0
	if lower {
		x, y, grade = 576-i*44, 590-i*44, c.Lower
		tall = -tall
	}
	switch {
	case grade == 3 && lower:
		lean, tall = -size*110/100, tall*125/100
	case grade == 3:
		tall = tall * []int{190, 120, 210, 130}[i] / 100
	}
	w := size * 52 / 100
	top := y + tall
	at := func(dx, up int) dot { return dot{x + dx*w/100 + lean*up/100, y + (top-y)*up/100, 1} }
	s.shape(filled(enamel), at(-100, -30), at(-96, 40), at(-88, 92), at(-40, 104), at(0, 94), at(44, 104), at(90, 92), at(98, 40), at(100, -30))
	s.poly(hair, at(0, 10), at(0, 88))
	switch {
	case grade == 1 && i == 1:
		side := 1
		if lower {
			side = -1
		}
		s.shape(filled(enamel), at(side*30, 98), at(side*150, 150), at(side*96, 62))
	case grade == 2 && i == 1 && lower:
		s.shape(filled(enamel), at(20, 100), at(-160, 160), at(-330, 176), at(-180, 120), at(-92, 60))
	case grade == 2 && i == 1:
		s.shape(filled(enamel), at(-20, 100), at(120, 150), at(300, 176), at(190, 110), at(92, 60))
	}
}

package senses

// limb is a near limb as it stands: where it hangs, its two joints, the fetlock,
// half its width at each, and the foot below the fetlock from front to back.
type limb struct {
	root, joint, hinge, foot dot
	half                     [4]int
	paw                      []dot
}

// walker is an animal that goes: its limbs, and where the outline of the trunk
// ends and the limbs begin.
type walker struct {
	window
	fore, hind limb
	cut        int
}

// walkers are the limbs of the drawings, as they were read off them.
var walkers = map[string]walker{
	"dog": {window{6, 40, 3240},
		limb{dot{330, 400}, dot{405, 450}, dot{386, 588}, dot{378, 655}, [4]int{52, 46, 25, 21}, []dot{{-54, 13, 0}, {-68, 31, 0}, {-60, 41, 0}, {-26, 43, 0}, {16, 40, 0}, {24, 28, 0}}},
		limb{dot{740, 300}, dot{708, 445}, dot{808, 565}, dot{778, 655}, [4]int{74, 56, 25, 21}, []dot{{-54, 10, 0}, {-68, 29, 0}, {-60, 39, 0}, {-22, 41, 0}, {18, 38, 0}, {26, 26, 0}}}, 500},
	"cat": {window{26, 50, 3370},
		limb{dot{270, 370}, dot{350, 420}, dot{332, 580}, dot{328, 618}, [4]int{46, 42, 23, 20}, []dot{{-51, 14, 0}, {-61, 32, 0}, {-52, 43, 0}, {-24, 46, 0}, {10, 43, 0}, {18, 28, 0}}},
		limb{dot{690, 280}, dot{648, 440}, dot{742, 545}, dot{734, 618}, [4]int{70, 54, 24, 19}, []dot{{-54, 14, 0}, {-66, 31, 0}, {-58, 43, 0}, {-28, 46, 0}, {8, 43, 0}, {17, 26, 0}}}, 500},
	"horse": {window{-160, -46, 2420},
		limb{dot{310, 450}, dot{392, 525}, dot{376, 690}, dot{375, 806}, [4]int{60, 54, 30, 19}, []dot{{-41, 34, 0}, {-67, 76, 1}, {-1, 76, 1}, {3, 44, 0}}},
		limb{dot{800, 370}, dot{760, 540}, dot{852, 655}, dot{850, 806}, [4]int{86, 66, 29, 19}, []dot{{-44, 34, 0}, {-70, 76, 1}, {-2, 76, 1}, {3, 44, 0}}}, 600},
	"cattle": {window{-40, 82, 2960},
		limb{dot{270, 440}, dot{362, 490}, dot{354, 605}, dot{356, 706}, [4]int{52, 46, 30, 20}, []dot{{-38, 26, 0}, {-58, 56, 1}, {14, 56, 1}, {18, 30, 0}}},
		limb{dot{800, 320}, dot{752, 480}, dot{860, 570}, dot{860, 706}, [4]int{84, 62, 30, 20}, []dot{{-42, 26, 0}, {-64, 56, 1}, {10, 56, 1}, {15, 30, 0}}}, 545},
	"rabbit": {window{-20, -20, 3100},
		limb{dot{290, 490}, dot{376, 550}, dot{318, 586}, dot{312, 612}, [4]int{42, 36, 24, 20}, []dot{{-48, 4, 0}, {-66, 19, 0}, {-58, 31, 0}, {-22, 34, 0}, {20, 31, 0}}},
		limb{dot{740, 400}, dot{610, 520}, dot{820, 590}, dot{620, 624}, [4]int{120, 84, 24, 17}, []dot{{-40, -12, 0}, {-62, -4, 0}, {-60, 13, 0}, {-30, 21, 0}, {20, 21, 0}}}, 540},
}

// bent is the limb with its root and its foot elsewhere. The bones above the
// first joint and below the second turn together, as those of a quadruped
// nearly do, so that root, joint and foot are the corners of a triangle whose
// sides are known. Where the foot is out of reach it comes as near as it can.
func (l limb) bent(from, foot dot) (joint, hinge, at dot) {
	kx, ky := l.joint[0]-l.root[0]+l.foot[0]-l.hinge[0], l.joint[1]-l.root[1]+l.foot[1]-l.hinge[1]
	vx, vy := l.hinge[0]-l.joint[0], l.hinge[1]-l.joint[1]
	kk, vv := int64(kx*kx+ky*ky), int64(vx*vx+vy*vy)
	dx, dy := foot[0]-from[0], foot[1]-from[1]
	long := int(root(int64(dx*dx + dy*dy)))
	reach := int(root(kk)) + int(root(vv)) - 1
	if near := abs(int(root(kk))-int(root(vv))) + 2; long > reach || long < near {
		to := min(max(long, near), reach)
		dx, dy = dx*to/max(1, long), dy*to/max(1, long)
	}
	dd := max(1, int64(dx*dx+dy*dy))
	along := (kk - vv + dd) * 1024 / (2 * dd) // of K on D, in 1024ths of D
	off := root(max(0, kk-along*along/1024*dd/1024) * 1024 * 1024 / dd)
	if kx*vy-ky*vx < 0 { // the side on which the joint stands out
		off = -off
	}
	nx, ny := (int64(dx)*along+int64(dy)*off)/1024, (int64(dy)*along-int64(dx)*off)/1024
	turn := [2]int{int((int64(kx)*nx + int64(ky)*ny) * 1024 / kk), int((int64(kx)*ny - int64(ky)*nx) * 1024 / kk)}
	at = dot{from[0] + dx, from[1] + dy}
	up, low := spun(dot{l.joint[0] - l.root[0], l.joint[1] - l.root[1]}, turn), spun(dot{l.foot[0] - l.hinge[0], l.foot[1] - l.hinge[1]}, turn)
	return dot{from[0] + up[0], from[1] + up[1]}, dot{at[0] - low[0], at[1] - low[1]}, at
}

// spun turns an offset by a cosine and a sine in 1024ths.
func spun(d dot, turn [2]int) dot {
	return dot{(d[0]*turn[0] - d[1]*turn[1]) / 1024, (d[0]*turn[1] + d[1]*turn[0]) / 1024, d[2]}
}

// draw draws the limb from its root to its foot; the foot is turned by the angle.
func (l limb) draw(c *canvas, v window, from, foot dot, angle int, tint byte) {
	joint, hinge, at := l.bent(from, foot)
	spine := [4]dot{from, joint, hinge, at}
	front, back := make([]dot, 0, 12), make([]dot, 0, 4)
	for i, p := range spine {
		a, b := spine[max(0, i-1)], spine[min(3, i+1)]
		x, y := b[0]-a[0], b[1]-a[1]
		long := max(1, int(root(int64(x*x+y*y))))
		ox, oy := -y*l.half[i]/long, x*l.half[i]/long
		front = append(front, dot{p[0] + ox, p[1] + oy, 0})
		back = append(back, dot{p[0] - ox, p[1] - oy, 0})
	}
	way := [2]int{bhaskara(angle*(1<<16)/360+1<<14) >> 5, bhaskara(angle*(1<<16)/360) >> 5}
	for _, d := range l.paw {
		d = spun(d, way)
		front = append(front, dot{at[0] + d[0], at[1] + d[1], d[2]})
	}
	for i := len(back) - 1; i >= 0; i-- {
		front = append(front, back[i])
	}
	line := v.curve(front, false)
	c.fill(line, tint)
	c.trace(line, lineHalf, black)
}

package senses

// RGB is a colour of red, green and blue, 0 to 255 each.
type RGB [3]uint8

// tissue is the colour of a gum by the choice of mm.colour. Where two choices
// lie near in hue they lie apart in lightness, so that they differ also for who
// sees no red or green (the colours are derived).
var tissue = map[string]RGB{
	"pink":         {0xde, 0x8f, 0x97},
	"pale pink":    {0xec, 0xbf, 0xc0},
	"pale":         {0xf5, 0xee, 0xec},
	"grey":         {0xae, 0xa0, 0x9f},
	"blue":         {0x7f, 0x82, 0xb6},
	"brick red":    {0xa6, 0x33, 0x2e},
	"yellow":       {0xe2, 0xb5, 0x4e},
	"brown":        {0x87, 0x5c, 0x43},
	"faint yellow": {0xe7, 0xac, 0x90},
	"purple rim":   {0xc9, 0x6f, 0x83},
}

// Tissue is the colour of a gum by the choice of mm.colour; false where there is none.
func Tissue(choice string) (RGB, bool) {
	c, ok := tissue[choice]
	return c, ok
}

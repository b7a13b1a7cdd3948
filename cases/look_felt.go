package cases

import "dewclaw/cases/senses"

// nodeSizes are the choices of a node's size as length and thickness in
// millimetres: those of the things they are named after (derived; up to a
// centimetre is normal in dog and cat, University of Guelph, VETM 3430).
var nodeSizes = map[string][2]int{
	"not felt": {0, 0}, "pea": {7, 6}, "bean": {14, 8}, "grape": {22, 18}, "plum": {40, 36},
	"slip": {40, 12}, "egg": {57, 44}, "fist": {95, 80},
}

// nodeTextures are the choices of a node's texture as they feel.
var nodeTextures = map[string]senses.Felt{
	"":     {Give: senses.Rubber},
	"soft": {},
	"firm": {Give: senses.Rubber},
	"hard": {Give: senses.Wood, Surface: senses.Knotty, Hold: senses.Stuck},
	"hot":  {Give: senses.Puffy},
}

// lumps are the choices of a lump, by field.
var lumps = map[string]map[string]senses.Felt{
	"skin.lump": {
		"none":        {},
		"soft slides": {Long: 48, Thick: 30},
		"stalked":     {Long: 7, Thick: 4, Hold: senses.Stalk},
		"firm fixed":  {Long: 26, Thick: 22, Give: senses.Wood, Surface: senses.Knotty, Hold: senses.Stuck},
		"red button":  {Long: 14, Thick: 7, Give: senses.Rubber, Hold: senses.InSkin, Top: senses.Hairless},
		"open":        {Long: 26, Thick: 14, Give: senses.Rubber, Hold: senses.InSkin, Top: senses.Raw},
		"hot soft":    {Long: 50, Thick: 28, Give: senses.Puffy, Hold: senses.Stuck},
	},
	"mammae.lump": {
		"none":               {},
		"rice grain at teat": {Long: 7, Thick: 3},
		"small firm":         {Long: 8, Thick: 7, Give: senses.Rubber},
		"large":              {Long: 42, Thick: 36, Give: senses.Wood, Surface: senses.Knotty, Hold: senses.Stuck},
	},
}

// plaque is what the lump of a hoofed animal's skin is where that of a dog is a
// red button: grey, flat, rough as bark.
var plaque = senses.Felt{Long: 30, Thick: 6, Give: senses.Rubber, Hold: senses.InSkin, Top: senses.Bark}

// large says whether the species is a horse or cattle.
func (v *view) large() bool { return v.species() == "horse" || v.species() == "cattle" }

// feltScale is how large a centimetre is drawn: smaller where a fist must fit.
func (v *view) feltScale(usual, cattle int) int {
	if v.species() == "cattle" {
		return cattle
	}
	return usual
}

// node is a node as the step lets it be felt.
func (v *view) node(name string) senses.Felt {
	f := nodeTextures[v.seen("node."+name+".texture")]
	size := nodeSizes[v.seen("node."+name+".size")]
	if size[0] == 0 {
		return senses.Felt{}
	}
	f.Long, f.Thick = size[0], size[1]
	return f
}

// headNodes are three panels; behind the first lies the salivary gland of a
// small animal, which students take for the node.
func (v *view) headNodes() senses.Picture {
	first, second, third := v.node("mandibular"), v.node("parotid"), v.node("retropharyngeal")
	first.Place, second.Place, third.Place = "jaw", "below the ear", "throat"
	first.Gland, first.Broad = !v.large(), true
	return senses.Size{Felt: []senses.Felt{first, second, third}, Scale: v.feltScale(50, 38)}.Picture()
}

// lump draws what the hands meet in going over the animal.
func lump(field string) func(*view) senses.Picture {
	return func(v *view) senses.Picture {
		choice := v.seen(field)
		f := lumps[field][choice]
		if choice == "red button" && v.large() {
			f = plaque
		}
		return senses.Size{Felt: []senses.Felt{f}, Scale: 80}.Picture()
	}
}

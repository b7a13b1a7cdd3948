package cases

import (
	"slices"
	"strings"

	"dewclaw/cases/senses"
)

// stillLooks are the pictures that stand still. Where a step shows both what a
// part is like and how the animal takes the touch, the part comes first: the
// face is drawn for the steps that have nothing else to look at, for what is
// felt teaches more of the part, and the words tell the rest.
var stillLooks = slices.Concat([]look{
	{"condition", []string{"body.condition"}, false, (*view).condition},
	{"ear canal", []string{"ear.canal", "ear.drum"}, false, (*view).earCanal},
	{"teeth", []string{"dental.calculus", "dental.gingiva", "dental.recession", "teeth.broken", "teeth.bite", "teeth.resorption", "mm.colour"}, false, (*view).teeth},
	{"front teeth", []string{"teeth.broken", "teeth.bite", "mm.colour"}, false, (*view).frontTeeth},
	{"gum", []string{"mm.colour", "mm.spots", "mm.moisture"}, false, (*view).gum},
	{"front teeth of a rabbit", []string{"incisors.bite", "incisors.length", "incisors.surface"}, false, (*view).rabbitFront},
	{"cheek teeth of a rabbit", []string{"teeth.upper", "teeth.lower", "tongue.edge", "cheek.lining"}, false, (*view).cheekTeeth},
	{"eye", []string{"eye.discharge", "eye.lids", "eye.position", "conjunctiva.colour", "sclera.colour", "cornea.surface", "third.eyelid"}, false, (*view).eye},
	{"ear flap", []string{"ear.discharge", "pinna.skin", "ear.redness"}, false, (*view).flap},
	{"nose", []string{"nose.discharge", "nose.surface"}, false, (*view).nose},
	{"posture", []string{"posture", "demeanour"}, false, (*view).posture},
	{"nodes of the head", []string{"node.mandibular.size", "node.mandibular.texture", "node.parotid.size", "node.retropharyngeal.size"}, false, (*view).headNodes},
	{"lump", []string{"skin.lump"}, false, lump("skin.lump")},
	{"lump of the gland", []string{"mammae.lump"}, false, lump("mammae.lump")},
}, nodeLooks("prescapular", "axillary", "popliteal", "inguinal", "supramammary", "subiliac"),
	faceLooks("head", "cheek", "neck", "forelimb", "forepaw", "forehoof", "chest", "abdomen", "mammae", "navel", "spine",
		"hip", "hindlimb", "stifle", "hock", "hindpaw", "hindhoof", "tail"))

// nodeLooks are the nodes that are felt alone.
func nodeLooks(nodes ...string) []look {
	var out []look
	for _, n := range nodes {
		size, texture := "node."+n+".size", "node."+n+".texture"
		out = append(out, look{n + " node", []string{size, texture}, false, func(v *view) senses.Picture {
			return senses.Size{Felt: []senses.Felt{v.node(n)}, Scale: v.feltScale(80, 55)}.Picture()
		}})
	}
	return out
}

// faceLooks are the faces that an animal makes when a place is handled.
func faceLooks(places ...string) []look {
	var out []look
	for _, place := range places {
		field := place + ".response"
		out = append(out, look{"face at the " + place, []string{field}, false, func(v *view) senses.Picture {
			return senses.Face{Species: v.species(), Strength: v.stroke(field)}.Picture()
		}})
	}
	return out
}

// seen is the choice of a field where the step shows it, else "": a picture
// holds nothing that its step does not reveal.
func (v *view) seen(field string) string {
	if !slices.Contains(v.step.Reveals, field) {
		return ""
	}
	return v.choice(field)
}

// stroke is the number by which a choice is drawn, 0 where the step does not show the field.
func (v *view) stroke(field string) int {
	key := field
	if strings.HasSuffix(field, ".response") {
		key = "response"
	}
	return strokes[key][v.seen(field)]
}

// strokes are the choices of a field as a drawing takes them: a place in a scale,
// or a constant of package senses.
var strokes = map[string]map[string]int{
	"response":    {"none": 0, "mild": 1, "moderate": 2, "severe": 3, "extreme": 4},
	"mm.spots":    {"none": int(senses.NoSpots), "pigment": int(senses.Pigment), "pinpoint": int(senses.Pinpoint), "blotches": int(senses.Blotches)},
	"mm.moisture": {"moist": 0, "tacky": 1, "dry": 2},
	"ear.canal": {"open": int(senses.OpenCanal), "red narrowed": int(senses.RedNarrowed), "filled": int(senses.FilledCanal),
		"grass": int(senses.StalkCanal), "pink knob": int(senses.KnobCanal)},
	"ear.drum":         {"grey sheet": int(senses.GreySheet), "not seen": int(senses.DrumUnseen), "bulging": int(senses.BulgingDrum), "torn": int(senses.TornDrum)},
	"dental.calculus":  {"none": 0, "1": 1, "2": 2, "3": 3},
	"dental.gingiva":   {"none": 0, "1": 1, "2": 2, "3": 3},
	"dental.recession": {"none": 0, "slight": 1, "marked": 2},
	"teeth.resorption": {"none": 0, "notch": 1, "stump": 2},
	"teeth.broken":     {"none": int(senses.Whole), "worn": int(senses.Worn), "broken": int(senses.Broken), "missing": int(senses.Missing)},
	"teeth.bite": {"scissor": int(senses.Scissor), "level": int(senses.Level), "canine in palate": int(senses.CanineInward), "double": int(senses.DoubleCanine),
		"meets": int(senses.Meets), "over": int(senses.UpperAhead), "under": int(senses.LowerAhead)},
	"incisors.bite":    {"chisel": 0, "edge": 1, "underbite": 2},
	"incisors.length":  {"short": 0, "long": 1, "curled": 2},
	"incisors.surface": {"smooth": 0, "ridged": 1, "broken": 2},
	"teeth.upper":      {"level": 0, "small points": 1, "spur": 2, "tall": 3},
	"teeth.lower":      {"level": 0, "small points": 1, "spur": 2, "bridge": 3},
	"tongue.edge":      {"whole": 0, "grooved": 1, "raw": 2},
	"cheek.lining":     {"whole": 0, "raw": 1, "packed": 2},
	"eye.discharge":    {"none": 0, "dry crumb": 1, "watery": 2, "mucous": 3, "yellow": 4},
	"eye.lids": {"fit": int(senses.Fit), "small wart": int(senses.Wart), "turned in": int(senses.TurnedIn), "turned out": int(senses.TurnedOut),
		"drooping": int(senses.Drooping), "squeezed": int(senses.Squeezed)},
	"eye.position":       {"level": int(senses.LevelEye), "sunken": int(senses.Sunken), "bulging": int(senses.Bulging), "flicking": int(senses.Flicking)},
	"conjunctiva.colour": {"pink": 0, "pale": 1, "red": 2, "yellow": 3},
	"sclera.colour": {"white": int(senses.ClearWhite), "crowded vessels": int(senses.Crowded), "yellow": int(senses.YellowWhite),
		"bloody": int(senses.BloodyWhite), "straw": int(senses.StrawWhite)},
	"cornea.surface": {"clear": int(senses.ClearFront), "hazy": int(senses.Hazy), "pitted": int(senses.Pitted), "pigmented": int(senses.Pigmented), "dry": int(senses.DryFront)},
	"third.eyelid":   {"down": 0, "raised": 1, "red bulge": 2},
	"ear.discharge":  {"none": 0, "trace of wax": 1, "brown greasy": 2, "dark crumbs": 3, "yellow": 4},
	"pinna.skin":     {"smooth": int(senses.SmoothFlap), "crusted rim": int(senses.CrustedRim), "cushion": int(senses.Cushion), "scratched": int(senses.Scratched)},
	"ear.redness":    {"none": 0, "mild": 1, "marked": 2},
	"nose.discharge": {"none": 0, "clear drop": 1, "yellow": 2, "bloody": 3},
	"nose.surface":   {"moist": 0, "dry": 1, "thickened": 2, "raw": 3},
	"posture": {"relaxed": int(senses.AtEase), "neck out": int(senses.NeckOut), "hunched": int(senses.Hunched), "praying": int(senses.Bowed),
		"favours a limb": int(senses.OffLimb), "recumbent": int(senses.OnSide), "pressed flat": int(senses.PressedLow),
		"rocked back": int(senses.RockedBack), "pawing": int(senses.Pawing), "rolling": int(senses.Rolling)},
	"demeanour": {"calm": int(senses.Calm), "friendly": int(senses.Friendly), "wary": int(senses.Wary), "fearful": int(senses.Fearful), "defensive": int(senses.Defensive)},
}

func (v *view) gum() senses.Picture {
	colour := v.seen("mm.colour")
	return senses.Gum{Species: v.species(), Colour: colour, Rim: colour == "purple rim",
		Spots: senses.Spots(v.stroke("mm.spots")), Drying: v.stroke("mm.moisture")}.Picture()
}

// condition draws the score from its place between the ends of its scale.
func (v *view) condition() senses.Picture {
	f := v.p.cat.Field("body.condition")
	top := len(f.Of)
	if top < 2 {
		return senses.Condition{Species: v.species(), Dry: v.dry()}.Picture()
	}
	middle := (1 + top) * 500
	return senses.Condition{Species: v.species(), Dry: v.dry(), Fat: (v.milli(f.ID) - middle) * 2 / (top - 1)}.Picture()
}

func (v *view) earCanal() senses.Picture {
	return senses.EarCanal{Canal: senses.Canal(v.stroke("ear.canal")), Drum: senses.Drum(v.stroke("ear.drum"))}.Picture()
}

func (v *view) teeth() senses.Picture {
	return senses.Teeth{Species: v.species(), Gum: v.seen("mm.colour"), Tartar: v.stroke("dental.calculus"), Redness: v.stroke("dental.gingiva"), Receded: v.stroke("dental.recession"),
		Crown: senses.Crown(v.stroke("teeth.broken")), Bite: senses.Bite(v.stroke("teeth.bite")), Resorbed: v.stroke("teeth.resorption")}.Picture()
}

func (v *view) frontTeeth() senses.Picture {
	return senses.FrontTeeth{Species: v.species(), Gum: v.seen("mm.colour"), Crown: senses.Crown(v.stroke("teeth.broken")), Jaw: senses.Jaw(v.stroke("teeth.bite"))}.Picture()
}

func (v *view) rabbitFront() senses.Picture {
	return senses.RabbitFront{Meet: v.stroke("incisors.bite"), Length: v.stroke("incisors.length"), Surface: v.stroke("incisors.surface")}.Picture()
}

func (v *view) cheekTeeth() senses.Picture {
	return senses.CheekTeeth{Upper: v.stroke("teeth.upper"), Lower: v.stroke("teeth.lower"), Tongue: v.stroke("tongue.edge"), Cheek: v.stroke("cheek.lining")}.Picture()
}

func (v *view) posture() senses.Picture {
	return senses.Posture{Species: v.species(), Dry: v.dry(), Stance: senses.Stance(v.stroke("posture")), Manner: senses.Manner(v.stroke("demeanour"))}.Picture()
}

func (v *view) eye() senses.Picture {
	return senses.Eye{Species: v.species(), Right: v.site == "right", Discharge: v.stroke("eye.discharge"), Lids: senses.Lids(v.stroke("eye.lids")), Set: senses.Set(v.stroke("eye.position")),
		Lining: v.stroke("conjunctiva.colour"), White: senses.Sclera(v.stroke("sclera.colour")), Front: senses.Front(v.stroke("cornea.surface")),
		Third: v.stroke("third.eyelid"), Creamy: v.species() == "rabbit"}.Picture()
}

func (v *view) flap() senses.Picture {
	return senses.Flap{Species: v.species(), Skin: senses.FlapSkin(v.stroke("pinna.skin")), Discharge: v.stroke("ear.discharge"),
		Redness: v.stroke("ear.redness"), Layered: v.species() == "rabbit"}.Picture()
}

func (v *view) nose() senses.Picture {
	return senses.Nose{Species: v.species(), Discharge: v.stroke("nose.discharge"), Surface: v.stroke("nose.surface"), Right: v.site == "right"}.Picture()
}

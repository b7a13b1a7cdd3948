package cases

// Sources that several links rest on.
const (
	murmurGrades = "Vet360 vol. 1 issue 3, murmurs (read); UK heart screening, grading of murmurs (read)"
	merckTriage  = "Merck Veterinary Manual, parameters to evaluate during triage (read)"
	dehydration  = "AAHA 2024 fluid therapy guidelines, Table 5 (read); AAHA/AAFP 2013, page 9 (read): age, fat and thinness mislead"
	pulses       = "teaching notes on arterial pulses in dogs and cats (read in a relay)"
	membranes    = "teaching notes on mucous membranes in dogs and cats (read in a relay)"
)

// thin excuses a skin that stays up and eyes that lie deep: both follow the
// flesh as well as the water.
var thin = []Sign{
	{Field: "body.condition", Is: []string{readLow}},
	{Field: "muscle.condition", Is: []string{"moderate", "severe"}},
}

// muffled are all ways in which heart sounds may be dim.
var muffled = []string{"muffled", "muffled gallop"}

// links is the table of signs that must agree, each for every species that has
// its fields.
var links = []Link{
	{
		ID:     "thrill-murmur",
		When:   []Sign{{Field: "heart.thrill", Is: []string{"present"}}},
		Then:   []Sign{{Field: "heart.murmur", Is: []string{"5", "6"}, Aside: true}},
		Say:    "a thrill goes with a murmur of 5 or 6 and no other; make heart.murmur 5 at a site of that side or leave the thrill out",
		Why:    "A thrill is a murmur that can be felt: that is how grades 5 and 6 are told from 4.",
		Source: murmurGrades,
	},
	{
		ID:     "murmur-thrill",
		When:   []Sign{{Field: "heart.murmur", Is: []string{"5", "6"}}},
		Then:   []Sign{{Field: "heart.thrill", Is: []string{"present"}, Aside: true}},
		Say:    "a murmur of 5 or 6 is one that can be felt; make heart.thrill present on that side or the murmur 4",
		Why:    "Grades 5 and 6 have a thrill by definition.",
		Source: murmurGrades,
	},
	{
		ID:     "murmur-spread",
		When:   []Sign{{Field: "heart.murmur"}},
		Apart:  3,
		Say:    "a murmur fades from site to site by at most 3 grades; raise the softer one or lower the louder",
		Why:    "From grade 3 on a murmur is heard at more than one site, so that it does not vanish a hand's breadth away.",
		Source: murmurGrades + "; the figure of 3 grades: " + noSource,
	},
	{
		ID:     "murmur-timing",
		When:   []Sign{{Field: "heart.timing", Is: []string{"none"}}},
		Never:  []Sign{{Field: "heart.murmur", Is: []string{"abnormal"}}},
		Say:    "a murmur is heard in some part of the beat; make heart.timing systolic, diastolic or continuous",
		Why:    "What is heard between the sounds lies before the second sound, after it, or on both sides of it.",
		Source: murmurGrades,
	},
	{
		ID:     "timing-murmur",
		When:   []Sign{{Field: "heart.timing", Not: []string{"none"}}},
		Then:   []Sign{{Field: "heart.murmur", Is: []string{"abnormal"}}},
		Say:    "a time in the beat is that of a murmur; make heart.murmur 1 to 6 at some site, or heart.timing none",
		Why:    "Without a murmur there is nothing to time.",
		Source: noSource,
	},
	{
		ID:     "deficit-rhythm",
		When:   []Sign{{Field: "pulse.synchrony", Is: []string{"missing beats"}}},
		Then:   []Sign{{Field: "heart.rhythm", Not: []string{"regular", "sinus arrhythmia", "left out"}}},
		Say:    "fewer pulses than beats need a rhythm with early or irregular beats; make heart.rhythm dropped beats or chaotic, or leave the deficit out",
		Why:    "A beat too early to fill the heart sends no pulse; a steady beat always sends one, and one that is left out is missed by ear and finger alike.",
		Source: merckTriage + "; " + pulses,
	},
	{
		ID:     "turgor-gum",
		When:   []Sign{{Field: "skin.turgor", Is: []string{"slow", "stays"}}},
		Then:   append([]Sign{{Field: "mm.moisture", Is: []string{"tacky", "dry"}}}, thin...),
		Say:    "skin that goes back slowly means a gum that is tacky or dry, unless the animal is thin; say mm.moisture",
		Why:    "Loss of water shows in skin and gum together; in a thin or wasted animal the skin alone misleads.",
		Source: dehydration,
	},
	{
		ID:     "turgor-eye",
		When:   []Sign{{Field: "skin.turgor", Is: []string{"stays"}}},
		Then:   append([]Sign{{Field: "eye.position", Is: []string{"sunken"}}}, thin...),
		Say:    "skin that stays up means sunken eyes, unless the animal is thin; say eye.position or make the turgor slow",
		Why:    "At that loss of water the eyes lie deep.",
		Source: dehydration,
	},
	{
		ID:   "gum-turgor",
		When: []Sign{{Field: "mm.moisture", Is: []string{"dry"}}},
		Then: []Sign{
			{Field: "skin.turgor", Not: []string{"at once"}},
			{Field: "body.condition", Is: []string{readHigh}},
			{Field: "resp.pattern", Is: []string{"panting"}},
			{Field: "resp.effort", Is: []string{"moderate", "severe", "agonal"}},
		},
		Say:    "a dry gum means skin that goes back late, unless fat hides it or the animal breathes through its mouth; say skin.turgor",
		Why:    "Loss of water shows in gum and skin together; fat hides it in the skin, and open-mouthed breathing dries the gum alone.",
		Source: dehydration + "; breathing through the mouth: " + noSource,
	},
	{
		ID:   "eye-turgor",
		When: []Sign{{Field: "eye.position", Is: []string{"sunken"}}},
		Then: append([]Sign{
			{Field: "skin.turgor", Not: []string{"at once"}},
			{Field: "head.muscle", Is: []string{"wasted"}, Aside: true},
			{Field: "eye.lids", Is: []string{"squeezed"}, Aside: true},
			{Field: "pupil.size", Is: []string{"narrow"}, Aside: true},
		}, thin...),
		Say:    "an eye lies deep for want of water, fat or muscle, or because it hurts or has lost its nerve; say skin.turgor, condition, muscle, lids or pupil",
		Why:    "Eyes sink with moderate loss of water; else with what lies behind them, with pain, or with a small pupil in Horner's syndrome.",
		Source: dehydration + "; the other causes: ophthalmology texts, from memory",
	},
	{
		ID:     "turgor-refill",
		When:   []Sign{{Field: "skin.turgor", Is: []string{"stays"}}},
		Never:  []Sign{{Field: "crt", Is: []string{readLow}}},
		Say:    "skin that stays up does not go with a refill under a second; make crt longer or the turgor less",
		Why:    "That loss of water empties the vessels, so that the gum fills late and not at once.",
		Source: dehydration + "; " + merckTriage,
	},
	{
		ID:     "brisk-weak",
		When:   []Sign{{Field: "crt", Is: []string{readLow}}},
		Never:  []Sign{{Field: "pulse.quality", Is: []string{"weak", "absent"}}},
		Say:    "a refill under a second goes with a strong or bounding pulse; make crt longer or the pulse stronger",
		Why:    "Under a second the vessels are wide and full; a weak pulse means that they are not. A pale gum with a usual refill is allowed: that is anaemia.",
		Source: merckTriage,
	},
	{
		ID:     "pale-conjunctiva",
		When:   []Sign{{Field: "mm.colour", Is: []string{"pale", "white"}}},
		Never:  []Sign{{Field: "conjunctiva.colour", Is: []string{"pink"}}},
		Say:    "where the gum is pale the conjunctiva is not pink; say conjunctiva.colour for both eyes",
		Why:    "Where a gum is pigmented the conjunctiva is read in its place, because both pale together.",
		Source: membranes,
	},
	{
		ID:     "yellow-gum",
		When:   []Sign{{Field: "mm.colour", Is: []string{"yellow"}}},
		Never:  []Sign{{Field: "sclera.colour", Is: []string{"white"}}},
		Say:    "where the gum is yellow the white of the eye is too; say sclera.colour for both eyes",
		Why:    "Jaundice is seen in the white of the eye at least as early as in the gum.",
		Source: noSource,
	},
	{
		ID:   "yellow-skin",
		When: []Sign{{Field: "skin.colour", Is: []string{"yellow"}}},
		Then: []Sign{
			{Field: "mm.colour", Is: []string{"yellow"}},
			{Field: "sclera.colour", Is: []string{"yellow"}},
			{Field: "conjunctiva.colour", Is: []string{"yellow"}},
		},
		Say:    "yellow skin means a yellow gum or eye; say mm.colour or sclera.colour",
		Why:    "Jaundice shows in the skin last.",
		Source: noSource,
	},
	{
		ID:   "blue-gum",
		When: []Sign{{Field: "mm.colour", Is: []string{"blue"}}},
		Then: []Sign{
			{Field: "resp.effort", Not: []string{"none"}},
			{Field: "heart.murmur", Is: []string{"abnormal"}},
		},
		Say:    "a blue gum means air hunger or a heart whose blood takes the wrong way; say resp.effort or heart.murmur",
		Why:    "Blue means severe want of oxygen, which an animal fights, or a shunt from right to left.",
		Source: merckTriage + "; that effort or a murmur is met with it: " + noSource,
	},
	{
		ID:     "muffled-apex",
		When:   []Sign{{Field: "heart.sounds", Is: muffled}},
		Never:  []Sign{{Field: "apex.beat", Is: []string{"strong"}}, {Field: "heart.murmur", Is: []string{"5", "6"}}},
		Say:    "heart sounds that are muffled do not go with a strong apex beat or a murmur that can be felt; change one of them",
		Why:    "What lies between heart and hand dulls the beat and the murmur as it does the sounds.",
		Source: noSource,
	},
	{
		ID:   "muffled-cause",
		When: []Sign{{Field: "heart.sounds", Is: muffled}},
		Then: []Sign{
			{Field: "lung.sounds", Is: []string{"absent"}},
			{Field: "chest.percussion", Is: []string{"abnormal"}},
			{Field: "jugular.filling", Is: []string{"abnormal"}},
			{Field: "pulse.quality", Is: []string{"weak", "changing", "absent"}},
			{Field: "body.condition", Is: []string{readHigh}},
		},
		Say:    "muffled heart sounds come with fluid, air, a mass or fat around the heart; say lung.sounds, chest.percussion, jugular.filling, pulse.quality or condition",
		Why:    "Fluid in the chest silences the lung over it; fluid in the heart's sac fills the jugulars and weakens the pulse.",
		Source: "Feline Cardiology, ch. 19 (read); Clinician's Brief, acute respiratory distress (read); the rest: " + noSource,
	},
	{
		ID:     "gallop-rhythm",
		When:   []Sign{{Field: "heart.sounds", Is: []string{"gallop", "muffled gallop", "fourth"}}},
		Never:  []Sign{{Field: "heart.rhythm", Is: []string{"chaotic"}}},
		Say:    "a gallop, and a sound before the first, have their place in every beat, which a chaotic rhythm does not let one tell; change one of them",
		Why:    "The fourth sound needs a beating atrium, and the cadence of three needs beats that are alike.",
		Source: noSource,
	},
	{
		ID:   "fever-cold-limb",
		When: []Sign{{Field: "temperature", Is: []string{readHigh}}, {Field: "*.warmth", Is: []string{"cold"}}},
		Then: []Sign{
			{Field: "pulse.quality", Is: []string{"weak", "absent"}},
			{Field: "crt", Is: []string{readHigh}},
		},
		Say:    "cold limbs or ears with a raised temperature mean failing circulation; say pulse.quality weak or a slow crt, or leave the cold out",
		Why:    "In fever and heat the skin is warm, unless the blood does not reach it.",
		Source: noSource,
	},
	{
		ID:   "cold-hot-limb",
		When: []Sign{{Field: "*.warmth", Is: []string{"hot"}}, {Field: "temperature", Is: []string{readLow}}},
		Then: []Sign{
			{Field: "forelimb.swelling", Is: []string{"abnormal"}, Aside: true},
			{Field: "hindlimb.swelling", Is: []string{"abnormal"}, Aside: true},
		},
		Say:    "limbs or ears are not hot in an animal whose temperature is low, unless that place is swollen; change one of them",
		Why:    "A cold animal closes the vessels of its skin; only a place that is inflamed stays hot.",
		Source: noSource,
	},
	{
		ID:   "cold-limb-pulse",
		When: []Sign{{Field: "hindlimb.warmth", Is: []string{"cold"}}},
		Then: []Sign{
			{Field: "pulse.quality", Is: []string{"weak", "absent"}, Aside: true},
			{Field: "temperature", Is: []string{readLow}},
			{Field: "crt", Is: []string{readHigh}},
		},
		Say:    "a cold hind limb has a weak or absent pulse, or the whole animal is cold or its refill slow; say pulse.quality on that side",
		Why:    "A limb is cold when blood does not reach it; one side without a pulse is a clot until shown otherwise.",
		Source: pulses,
	},
	{
		ID:   "drum-belly",
		When: []Sign{{Field: "abdomen.shape", Is: []string{"drum"}}},
		Then: []Sign{
			{Field: "abdomen.percussion", Not: []string{"mixed", "wave"}},
		},
		Say:    "a belly tight as a drum rings when tapped; make abdomen.percussion drum",
		Why:    "What bulges is gas under tension.",
		Source: "GDV review, dvm360 (read): the belly is tympanic on percussion",
	},
	{
		ID:     "narrow-drum",
		When:   []Sign{{Field: "ear.canal", Is: []string{"red narrowed", "filled"}}},
		Never:  []Sign{{Field: "ear.drum", Is: []string{"grey sheet"}, Aside: true}},
		Say:    "behind a canal that is narrowed or filled a healthy ear drum is not seen; make ear.drum not seen on that side",
		Why:    "The cone passes only part way, so that the end does not come into view.",
		Source: noSource,
	},
	{
		ID:   "lame-fore",
		When: []Sign{{Field: "lameness", At: "fore", Not: []string{"0"}}},
		Then: []Sign{
			{Field: "stage:forelimbs", Is: []string{"abnormal"}, Aside: true},
			{Field: "neck.response", Is: []string{"abnormal"}},
		},
		Say:    "a lame fore limb has some response, swelling, stiffness or wound on that side, or a sore neck; say which",
		Why:    "A lameness for which nothing at all is found teaches nothing; the limb that is lame shows where.",
		Source: noSource,
	},
	{
		ID:   "lame-hind",
		When: []Sign{{Field: "lameness", At: "hind", Not: []string{"0"}}},
		Then: []Sign{
			{Field: "stage:hindlimbs", Is: []string{"abnormal"}, Aside: true},
			{Field: "spine.response", Is: []string{"abnormal"}},
			{Field: "pulse.quality", Is: []string{"absent"}, Aside: true},
		},
		Say:    "a lame hind limb has some response, swelling, stiffness or wound on that side, a sore back or no pulse; say which",
		Why:    "A lameness for which nothing at all is found teaches nothing; the limb that is lame shows where.",
		Source: noSource,
	},
	{
		ID:     "silent-lung",
		When:   []Sign{{Field: "lung.sounds", Is: []string{"absent"}}},
		Then:   []Sign{{Field: "chest.percussion", Is: []string{"dull", "drumming"}, Aside: true}},
		Say:    "a lung that is not heard is dull or drums when tapped; say chest.percussion on that side",
		Why:    "Fluid or flesh over the lung is dull, air around it drums.",
		Source: "Clinician's Brief, acute respiratory distress (read); Johnson, thoracic percussion (read)",
	},
	{
		ID:     "last-breaths",
		When:   []Sign{{Field: "resp.effort", Is: []string{"agonal"}}},
		Never:  []Sign{{Field: "mentation", Is: []string{"bright", "quiet"}}},
		Say:    "an animal that draws its last breaths is dull at best; say mentation",
		Why:    "Agonal breaths come with failing consciousness.",
		Source: noSource,
	},
	{
		ID:     "fat-belly",
		When:   []Sign{{Field: "abdomen.shape", Is: []string{"rounded with fat"}}},
		Never:  []Sign{{Field: "body.condition", Is: []string{readLow}}},
		Say:    "a belly that is round with fat does not go with a condition below the ideal; change one of them",
		Why:    "Fat cover is scored at the ribs as well as seen at the belly.",
		Source: noSource,
	},
	{
		ID:     "hollow-belly",
		When:   []Sign{{Field: "abdomen.shape", Is: []string{"gaunt"}}},
		Never:  []Sign{{Field: "body.condition", Is: []string{readHigh}}},
		Say:    "hollow flanks do not go with a condition above the ideal; change one of them",
		Why:    "Fat fills the flank.",
		Source: noSource,
	},
}

// Package cases holds simulated patients: the case files and catalogues that
// describe them, the checks that these must stand, the play of one attempt act
// by act, and the answer key that the grading engine works from.
//
// # Files
//
// A library is a directory with catalogue/*.yaml, cases/*.yaml and, where a
// school has recordings or pictures of its own, media/. Load lays
// several over one another: a file of a later one takes the place of the file
// of the same name. Files are YAML, and strict: one document, no anchors, no
// aliases, no unknown key, no repeated key, at most 64 kB a case and 512 kB a
// catalogue. All problems are reported at once, each with its place in the
// file and with what would be right. A broken catalogue stops Load; a broken
// case is listed by Broken and the others go on.
//
// # Catalogue
//
// A catalogue is the examination of one species. A file with extends: lies over
// another: a row of the same id changes that row member by member, lists are
// replaced, and ~ drops the row. One with base: true is only there to be
// extended.
//
//	catalogue: dog
//	extends: mammal
//	label: Dog
//	caution: what to say about a live animal
//	stages: {head: {label: Head}}                    # stretches of the route, in their order
//	skills: {head: {label: Head, one: finding of the head, many: findings of the head}} # for what to practise next
//	verbs: {palpate: {label: Feel, synonyms: [palp]}}
//	                                                 # skill: of a region's fields and steps; of a field or step where it is another
//	regions: {eyes: {stage: head, skill: head, label: Eyes, point: [128, 258], paired: true, synonyms: [eye]}}
//	steps:                                           # a manoeuvre on a region; id region.verb
//	  heart.auscultate: {region: heart, verb: auscultate, label: Listen to the heart, instrument: stethoscope,
//	    sites: [left apex, left base], least: 5, seconds: 15, stress: 6, sense: sound, reveals: [heart.rate],
//	    at: {left apex: [330, 690], left base: [240, 520]}
//	                                                 # where its sites lie on the drawing of the trunk: thousandths from head to tail and from the
//	                                                 # back down; a site called right lies on the far side, which is drawn mirrored. All sites, or none
//	    also_in: [], applies: {sex: any, age: any}, touch: true, measure: true, takes: 0, synonyms: [], caution: ...}
//	                                                 # takes: seconds until the instrument shows its true reading
//	fields:                                          # what can be charted
//	  heart.thrill:
//	    region: chest
//	    label: Thrill
//	    kind: choice                                 # count, number, score, time, choice, grade
//	    per_site: true                               # charted by the sites of the steps that reveal it, or by sites:
//	    strongest: true                              # its sites are one finding
//	    normal: [none]                               # variants: [...] are unusual and not abnormal
//	    weight: major                                # or minor
//	    each: true                                   # never by 'rest of this region normal'
//	    meaning: one line
//	    of:                                          # a choice: its cue, or {cue, label, synonyms, up_to, applies}; applies
//	                                                 # is for variants: in which sex and age (young, adult, old) they may be drawn
//	      none: what is sensed where it is normal
//	      present: what is sensed where it is not
//	  crt: {kind: time, unit: s, vital: crt, normal_at: 1.2..1.8, ...}
//	topics: {appetite: {label: Appetite, ask: How is the appetite?, synonyms: [eating]}}
//	handling: {hold lateral: {label: Hold on the side, hold: true, stress: 70, seconds: 15, effect: ..., caution: ...}}
//	precautions: {settle first: {label: ..., kind: before, done: ['handle:settle', wait], steps: [touch]}}
//	problems: {fever: {label: Fever, synonyms: [pyrexia], meaning: one line}}
//	hazards: {}                                      # those that every patient of the species carries
//
// A grade is a choice whose choices run from none to worst; the choices of a
// score are its numbers; the choices of another number are bands, each with
// up_to, for their cues. Stress is in thousandths of the patient's scale. A
// field called region.response shows pain in that region in five grades.
// Precautions name acts as handle:id, ask, wait, touch, a step, step@site,
// {painful} (the steps over the case's pain) or {peers} (the same at the other
// sites). What a typed line may say is made of ids, labels, abbr and synonyms.
//
// # Case
//
// A case states only what differs from the species' normal. This is a whole one:
//
//	case: willow
//	title: Drags a toe on the gravel          # for teachers; it never holds the conclusion
//	species: dog
//	situation: routine                        # routine, focused, triage
//	signalment: {name: Willow, breed: crossbreed, sex: female neutered, age: 6 y, weight: 18 kg}
//	presenting: A nail clicks and she licks that foot.
//	demeanour: friendly                       # calm, friendly, wary, fearful, defensive
//	history:
//	  answers: {appetite: As always., movement: She favours that foot on gravel.}
//	  otherwise: Not that I noticed.
//	  required: [movement]
//	truth:                                    # a value, a range low..high, or a list to draw from
//	  heart.rate: 84..104
//	  forepaw.dewclaw: {left: grown in}       # by site where the field is charted by site
//	  forepaw.response: {left: mild}
//	pain:                                     # 1 mild to 4 worst; the response field says the same
//	  - {region: forepaw, site: left, level: 1}
//	hazards:                                  # a step, touch or hold; unless gentle or a handling id
//	  - {step: forepaw.inspect, site: left, unless: gentle, severity: minor, why: It was sore., sign: She draws the foot up.}
//	precautions: [settle first, gentle on the sore place]
//	negatives:                                # 5 to 10 pertinent negatives: field or field@site
//	  - forepaw.web@left
//	  - forepaw.pads@left
//	  - lameness@left fore
//	  - carpus.motion@left
//	  - node.prescapular.size@left
//	conclusions:
//	  problems:
//	    - {id: claw disease, signs: [forepaw.dewclaw@left, forepaw.response@left]}
//	  accept: [wound]                         # neither helps nor hurts
//	  urgency: routine                        # routine, same day, emergency
//	  report: [forepaw.dewclaw@left, temperature]
//	tags: {competency: [CBVE 1.1], system: [skin]}
//	difficulty: 1                             # 1 to 5
//	use: practice                             # practice, exam
//	teaching: The fifth toe does not wear down; look at it on every dog.
//	sources: ["textbook picture, from memory"] # who, where and when: which figure or sign
//	confidence: memory                        # read, memory or derived; `dewclaw review` lists what is not read
//
// Further members: fragile (moderate, severe: how it worsens under handling),
// withhold (triage only: steps that are a hazard before the patient is stable)
// and mirror (true: the seed may swap left and right throughout).
//
// # Media
//
// A school's own recording, photograph or clip can stand in the place of ours at
// one act, keyed by step or step@site; for one act a list may hold a sound and a
// picture:
//
//	media:
//	  heart.auscultate@left apex:
//	    file: willow-apex.wav        # in media/, beside cases/; the bare name
//	    rate: 96                     # where a rate is counted in it: how many there are a minute
//	    consent: "written, owner, 2026-03-02, kept at the school's office"  # 3 to 200 characters
//	    licence: "school's own, teaching only"                              # 3 to 200 characters
//	  skin.inspect:
//	    file: willow-flank.jpg
//	    shows: [skin.lesions]        # of the step's fields; left out: those that ours would give there
//	    consent: ...
//	    licence: ...
//
// Files are WAV, PNG, JPEG and GIF; package media says which of each, and what is
// made of them. What else a file says - names, places, dates - is not passed on.
// A field that is shown is sensed as sound or picture, its cue kept for whoever
// is given words; one that ours would give and the school's does not is
// described. Where a rate is counted, what is there at that act is the stated
// rate, whatever the stress: it has to lie in the truth's spread. A medium is
// the same for every seed, so the choices that it shows must not be drawn: state
// each under truth, as one value. Times and readings belong to one patient and
// stay with ours, as does a pulse that is felt, and a case with media is not
// mirrored. Loudness is made alike: say by the truth that a heart is muffled, for
// its recording cannot. A picture where others have none tells that something is
// to be seen: give pictures of what is normal too.
//
// Media are made when the library is loaded, at most 64 MB together (a recording
// takes 1 MB whatever its length), so that a broken one is told at start and not
// met by a student. It breaks its case and no other; a file in media/ that no
// case names is listed by Broken too. No link is followed. A case's text gets a
// line for each medium with the hash of what is served, "# medium HASH sense
// key", and Hash covers it: a case whose recording was replaced is another case.
// Medium.Bytes is what a server keeps with an attempt, and LoadKept takes.
//
// # Checks
//
// CheckCase holds that every reference is known; that every finding can be
// discovered in a patient of this sex and age; that every vital lies plainly
// inside or plainly outside its reference range; that a thrill goes with a
// murmur of 5 or 6 and no other; that pain is seen; that every hazard can be
// avoided, a critical one has a sign, and at most three are critical; that
// negatives are normal and signs are not; that the title gives nothing away.
//
// # Secrets
//
// A case, its truth and a seed refuse to be marshalled and print [hidden].
package cases

package cases

// signals are what an animal shows, by kind: uneasy and plain are patience
// running out, guard a refusal, sore1 to sore4 answers to a touch that hurts,
// worse and low a fragile animal failing. The order of a dog's signs, from lip
// licking to biting, is common teaching on body language (no source).
type signals map[string][]string

// common holds for every species that has no words of its own for a kind.
var common = signals{
	"uneasy": {"Turns the head away and stands stiffly.", "Shifts the weight and looks for the way out."},
	"plain":  {"Tenses all over and shows the white of the eyes.", "Pulls back from the hand and breathes faster."},
	"guard":  {"Struggles free and does not let you near.", "Swings round and shields itself; this cannot be done now."},
	"bite":   {"Strikes out and hurts your hand."},
	"sore1":  {"Looks round at your hand for a moment.", "Stops and turns an ear to your hand."},
	"sore2":  {"Turns the head to your hand and shifts away from it.", "Tenses under your hand and draws away a little."},
	"sore3":  {"Flinches, cries out and pulls away from your hand.", "Guards the place and tries to get away from your hand."},
	"sore4":  {"Cries out at the lightest touch and fights to get away.", "Goes rigid, cries and turns on your hand."},
	"worse":  {"Breathes harder and braces the legs apart.", "Stretches the neck and works harder for every breath."},
	"low":    {"Gapes for air; the tongue is turning grey and the legs give way.", "Sinks down with glazed eyes; the gums are grey."},
	"arrest": {"Collapses, gasps once and lies still; there is no heartbeat."},
}

var bySpecies = map[string]signals{
	"dog": {
		"uneasy": {"Licks the lips and turns the head away.", "Yawns and puts the ears back.", "Lifts a forepaw and looks past you."},
		"plain":  {"Stiffens, shows the white of the eyes and closes the mouth tightly.", "Tucks the tail and leans away with the ears flat."},
		"guard":  {"Lifts the lip, growls and pulls away.", "Twists out of the hold with a low growl."},
		"bite":   {"Snaps and catches your hand."},
		"sore1":  {"Stops panting and glances round at your hand.", "Licks the lips once while your hand is there."},
		"sore2":  {"Turns the head to your hand and licks the lips.", "Tenses under your hand and shifts the weight away."},
		"sore3":  {"Whines, flinches and swings the head to your hand.", "Cries out and pulls away from your hand."},
	},
	"cat": {
		"uneasy": {"Swishes the tip of the tail and turns the ears sideways.", "Crouches lower and looks away."},
		"plain":  {"Flattens the ears, pupils wide, and growls low.", "Lashes the tail and presses flat to the table."},
		"guard":  {"Hisses, strikes with a paw and backs off.", "Rolls and brings up all four feet."},
		"bite":   {"Whips round and bites into your hand."},
		"sore1":  {"The tail stops and an ear turns to your hand.", "Looks round at your hand and narrows the eyes."},
		"sore2":  {"Hunches, narrows the eyes and edges off your hand.", "Tail lashes once as your hand comes there."},
		"sore3":  {"Growls and turns on your hand.", "Cries and tries to get out from under your hand."},
		"low":    {"Gapes with the mouth open; the tongue is turning grey.", "Falls on the side with wide pupils and an open mouth."},
	},
	"horse": {
		"uneasy": {"Pins one ear back and swishes the tail.", "Lifts the head high and shifts the quarters."},
		"plain":  {"Both ears flat, tail clamped, weight off one hind foot.", "Tosses the head and swings the quarters round."},
		"guard":  {"Steps away, lifts a hind foot and threatens."},
		"bite":   {"Kicks out and catches your leg."},
		"sore1":  {"Swivels an ear to your hand and tightens the nostril.", "Looks round at your hand for a moment."},
		"sore2":  {"Turns the head to your hand and steps a little aside.", "The skin twitches under your hand and the ears go back."},
		"sore3":  {"Swings the quarters away and lifts a hind foot.", "Throws up the head and pulls away from your hand."},
		"sore4":  {"Squeals at a breath of touch and strikes out with a foreleg.", "Wheels away, ears flat, before your hand has settled."},
		"low":    {"Sinks at the knees, sweat running; the gums are dusky.", "Goes down and groans; the eye is glazed and the gums grey."},
	},
	"cattle": {
		"uneasy": {"Lifts the head and follows you with one eye.", "Swishes the tail and shifts its weight."},
		"plain":  {"Swings the head round and steps on the spot.", "Leans on the rail and lifts a hind foot an inch."},
		"guard":  {"Throws itself forward in the crush and does not let you near.", "Swings its quarters across and shuts you out."},
		"bite":   {"Kicks forward and sideways and catches your leg."},
		"sore1":  {"Stops chewing the cud and turns an ear to your hand."},
		"sore2":  {"Paddles with the hind feet and edges away from your hand.", "Arches the back a little under your hand."},
		"sore3":  {"Grunts, and kicks towards your hand.", "Bellows once and lunges away from your hand."},
		"sore4":  {"Bellows at a breath of touch and crashes against the rail.", "Groans, sinks away from your hand and kicks at it."},
		"low":    {"Folds up and goes down with the neck stretched out; the gums are grey."},
	},
	"rabbit": {
		"uneasy": {"Freezes with the ears half back.", "Shrinks together; the nose stops twitching."},
		"plain":  {"Crouches flat, eyes wide, breath quick.", "Pushes off with both hind feet against your hand."},
		"guard":  {"Thumps, twists and springs away.", "Digs under the towel and will not be turned round."},
		"bite":   {"Grunts, lunges and nips your hand."},
		"sore1":  {"Half closes the eyes while your hand is there."},
		"sore2":  {"Goes tight under your hand and grinds its jaws.", "Hunches and edges off your hand."},
		"sore3":  {"Squeals, and kicks out with both hind feet.", "Wrenches itself round away from your hand."},
		"low":    {"Lies stretched on its side, mouth open, the lips turning grey."},
	},
}

// signalsOf are the words for a species: its own, and the common ones where it has none.
func signalsOf(species string) signals {
	all := signals{}
	for kind, words := range common {
		all[kind] = words
		if own := bySpecies[species][kind]; len(own) > 0 {
			all[kind] = own
		}
	}
	return all
}

package server

// deedRow is one deed of the log: its word as it is stored, and what it says.
type deedRow struct{ Word, Did string }

// The deeds of this file's own rooms: erasure, retention, the log and settings.
const (
	deedLeave    = "mark for erasure"
	deedReturn   = "put person back"
	deedHold     = "hold person"
	deedLift     = "lift hold"
	deedOwnData  = "hand out own data"
	deedLogFile  = "download log"
	deedSetting  = "change setting"
	DeedBackup   = "back up" // by who runs the machine, as the next
	DeedRestore  = "restore"
	deedErase    = "erase person"
	deedForgetCo = "forget cohort"
	deedForgetAs = "forget assignment"
)

// logDeeds are the words of the log, in the order in which they are offered. A word
// without a row is shown as it is stored.
var logDeeds = []deedRow{
	{"make cohort", "made the cohort"},
	{deedRename, "renamed the cohort"},
	{deedArchive, "archived the cohort"},
	{deedBring, "brought the cohort back into use"},
	{deedDelete, "deleted the cohort"},
	{deedPutBack, "put the deleted cohort back"},
	{deedForgetCo, "took the name of a cohort that was deleted 30 days before"},
	{deedAddMember, "put somebody into the cohort"},
	{deedRoleIn, "changed the role in the cohort"},
	{deedTakeOut, "took somebody out of the cohort"},
	{deedAccommodate, "changed what the student has beyond the others"},
	{deedEnrol, "enrolled people by a roster"},
	{deedEnrolPart, "enrolled people by a roster, which broke off"},
	{deedLink, "made a one-time link"},
	{deedRole, "changed the role in the school"},
	{deedAccount, "made the account"},
	{"grant sounds", "changed how sounds are given"},

	{deedMakeAssignment, "made the assignment"},
	{deedChangeAssignment, "changed the assignment"},
	{deedSetAssignment, "set the assignment"},
	{deedWithdraw, "withdrew the assignment"},
	{deedCloseLater, "let the assignment close later"},
	{deedCopyAssignment, "copied the assignment"},
	{deedDeleteAssignment, "deleted the assignment"},
	{deedPutBackAssignment, "put the deleted assignment back"},
	{deedForgetAs, "took the title of an assignment that was deleted 30 days before"},

	{"begin", "began a turn"},
	{"hand in", "handed in"},
	{"own pause", "began a pause of their own"},
	{"end of own pause", "ended a pause of their own"},
	{"give minutes", "gave minutes"},
	{"give minutes for all", "gave minutes to everybody"},
	{"pause", "paused the clock"},
	{"pause for all", "paused everybody's clock"},
	{"resume", "let the clock go on"},
	{"resume for all", "let everybody's clock go on"},
	{"end", "ended the turn"},
	{"reopen", "reopened the turn"},
	{"let in late", "let the student in late"},

	{deedMark, "marked a line by hand"},
	{deedDecide, "decided what the report was held for"},
	{deedRelease, "released the debrief"},
	{deedTakeBack, "took the release back"},
	{deedExcuse, "excused the turn: it does not count"},
	{deedCount, "let the turn count again"},
	{deedResit, "granted a resit"},
	{deedAsk, "asked for a line to be looked at again"},
	{deedAnswer, "answered the review that was asked for"},
	{deedGradebook, "was handed the gradebook"},
	{deedAppeal, "was handed the file for an appeal"},
	{"sign alone", "signed alone, for nobody else could"},
	{"propose marking anew", "proposed to mark anew by another version of the rubric"},
	{"accept marking anew", "put a marking anew in force"},
	{"undo marking anew", "put the marks of before back"},
	{"withdraw marking anew", "withdrew a marking anew"},
	{"propose change of key", "proposed a change of the key"},
	{"accept change of key", "put a change of the key in force"},
	{"undo change of key", "took a change of the key back"},
	{"withdraw change of key", "withdrew a change of the key"},

	{deedLeave, "marked the person for erasure"},
	{deedReturn, "put the person back"},
	{deedErase, "erased the person"},
	{deedHold, "kept the person's data from erasure"},
	{deedLift, "lifted the hold on erasure"},
	{deedOwnData, "was handed all own data"},
	{deedLogFile, "downloaded the log"},
	{DeedBackup, "took a backup"},
	{DeedRestore, "put a backup in place"},
	{deedSetting, "changed the school's setting"},
}

// didWords is what a deed says; an unknown word says itself.
func didWords(word string) string {
	for _, d := range logDeeds {
		if d.Word == word {
			return d.Did
		}
	}
	return word
}

// aboutKinds are the kinds of what a note can be about, with their label.
var aboutKinds = []deedRow{
	{"person", "a person"}, {"cohort", "a cohort"}, {"assignment", "an assignment"}, {"turn", "a turn"},
	{"transcript", "a visit"}, {"rubric", "a rubric"}, {"setting", "a setting"}, {"log", "the log"},
}

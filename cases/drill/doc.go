// Package drill makes exercises of a minute or two: one question after another
// about what is heard, seen or counted, each marked at once.
//
// An item is a patient of package cases that is composed for it: the species'
// normal from the catalogue, over it one truth that was drawn, and what else
// there is. What is sensed comes from the same senses as in a visit, and an
// answer is marked by rubric.Grade over a short transcript: the step, and a line
// on the sheet.
//
// What drills there are is a file, kinds.yaml: to add one is to edit it.
//
// # What is strict
//
// In an examination a grade that is one off is right. In a drill a value is named
// exactly, for telling 3 from 4 is what is practised: the key calls what is there
// the one finding and all else that is offered its absence. Numbers have the
// tolerance that they have in an examination.
//
// Integers only, no clock, no randomness but the seed's: the same seed, the same
// items on every processor.
//
// # Secrets
//
// An Item refuses to be marshalled and prints [hidden]; Encode opens it for
// storage. Face, Sound, Picture and Words are what a student may have; nothing in
// them but what is to be sensed depends on the truth. Past holds the answer.
package drill

// Package exam holds the rules of assignments and sittings: when one may begin
// and act, how long is left, who holds the room, and which patients a student
// meets. It is pure: the time is an argument, nothing is stored or asked.
//
// # Time
//
// An assignment opens and closes at moments in UTC; a school types them in its
// own zone (Local). A student's Terms are those with the student's
// accommodations. The clock of a sitting starts as the student begins and stops
// while it is paused; what is left follows from the deeds so far and never from
// a job that might not have run. Times are compared to the microsecond; there
// is no grace.
package exam

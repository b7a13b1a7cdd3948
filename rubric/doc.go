// Package rubric is the grading engine.
//
//	Grade(Rubric, Key, Transcript) Report
//
// is total and pure: it takes any rubric, key and transcript, sound or not,
// returns a report and never panics. The same input gives the same bytes on
// every processor: the package uses integers only, no clock, no randomness, no
// I/O and no order of a map. It imports nothing of ours.
//
// Points are thousandths of a point of 100. Every mark is a Line with a stable
// id, a reason code with its arguments, and the numbers of the acts behind it.
// A mark is rounded once, on its line; scaling, floors and deductions are lines
// of their own, so that a domain is exactly the sum of its lines and the total
// exactly the sum of the domains. Package rubric/say turns codes into sentences.
//
// A part that cannot be judged drops out, the others share its weight, and a
// line says so (code term.dropped). A domain for which the key holds nothing to
// judge by drops out in the same way (domain.dropped).
//
// # What counts as done
//
// An examine act does its step at its site, unless the animal refused it. The
// seconds at a site are the act's own and those of the contacts that later
// outcomes closed; repeats add up. The truth behind a line of the sheet is what
// the last examine before it showed at that place; without one the line was
// charted without examining. How sure a record says to be is read back and never
// marked. The last record of a field and site counts; an
// empty value withdraws it; "not examined" is honest and never false.
//
// # Domains
//
// Order, Completeness, Findings, Vitals, Handling and Conclusions each have a
// file with their formula. Where the formula leaves something open:
//
//   - A rule of order is judged by first doings, and only when something of
//     both its sides was done: what was left out is charged in Completeness.
//   - Up to three required steps at the very end of the walk are left out of
//     Order where that is better for the student.
//   - A step that floats in some accepted route is on no way: doing it is no
//     return to its stage.
//   - A finding's entry is looked for at its place, then in fields accepted for
//     it, then at a wrong site; an entry serves one finding. A choice that is
//     abnormal but not the right one earns half the call.
//   - An entry made without examining serves no finding and is no false alarm:
//     it is charged once, as charted without examining.
//   - Vitals are no findings, unless nothing else is abnormal: then how the
//     abnormal vitals were called is marked as the findings are, for charting
//     all normal must not earn Findings.
//   - A panting animal has no breathing rate to count: the term drops out,
//     whatever was charted for it.
//   - Sides swapped, a wrong site, one side only, a contradiction of the sheet, a
//     fault of counting and a step that the patient does not have are reasons,
//     and change no mark.
//   - Order needs two steps of the examination: giving oxygen is no way over the
//     animal. "The better side first" is not kept by who never saw the better side.
//   - A figure that counts for nothing (blank, unreadable, charted before it was
//     measured) has one line that holds both halves of its mark.
//   - Report.Detection is for display. Its counts are whole numbers; the figures
//     worked out from them are the only floating point here, and no mark reads them.
//   - What only withheld steps could show counts neither for nor against the
//     share of abnormal weight seen.
//   - F1 of the conclusions runs over all expected problems; one counts as
//     named rightly when one of its signs stands on the sheet, examined and
//     called abnormal. Named without its signs it neither helps nor hurts.
//   - A hazard met several times is counted once. A critical event costs no
//     points: it fails the case once a person has confirmed it. Report.Pass is
//     already false; whoever clears the event weighs Total and hurdles again.
//
// # Which acts can change which domain
//
//	kind      order  completeness  findings  vitals  handling  conclusions
//	examine     x         x           x        x        x          x
//	lift
//	record                            x        x                   x
//	ask         x         x                             x
//	handle      x         x                             x
//	wait                                                x
//	hint
//	conclude                                                       x
//	rate
//
// Outcomes are another matter: any act's outcome may close a contact, which
// reaches Completeness and Vitals, or carry a hazard, which reaches Handling.
//
// # Laws
//
// The property tests hold these for generated keys, rubrics and transcripts:
//
//   - 0 <= points <= max for every domain; total = sum of lines.
//   - Doing a missing required step and charting it rightly never lowers the
//     total, up to three late in all.
//   - Moving a step to its place never lowers Order (in a walk of which nothing
//     is forgiven as late), and nothing beats an accepted order; every accepted order earns at least .95 of
//     Order, and random order averages under .15.
//   - Removing a false alarm never lowers Findings; true normals off the list of
//     pertinent negatives never raise Findings.
//   - An act changes only the domains of the table.
//   - Any prefix and any nonsense grades without panic.
//   - Robots that touch nothing total at most 10; a robot that does every step
//     and charts all normal, or at random, never passes and earns at most .15
//     of Findings where there is an abnormality.
//   - In triage the right student who stops early earns at least 90, and at
//     least 40 more than a reckless one.
package rubric

// Package study says what a student can do and what to practise next. It is
// pure: judgements and a time in, figures, offers and sentences out. It knows no
// store, no patient and no page.
//
// # Judgements
//
// Everything rests on Judgements: the lines of marked visits and the items of
// drills, each with the skill that it tells of. They are derived whenever they
// are needed and stored nowhere, so that a mark that a person changed counts as
// changed.
//
// # What it never does
//
// No points, streaks, ranks or badges: sentences with what they rest on.
package study

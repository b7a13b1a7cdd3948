// Package roster reads a list of people from a spreadsheet and says what it would
// change in a cohort before anything does. It is pure: bytes in, rows and
// problems out; nothing is stored or fetched.
//
// A roster has a header row. Columns are known by their names, in any order:
//
//	number    the school's own number for a person; what a row is recognised by
//	login     what the person signs in with; where it is missing, the number
//	name      or family and given
//	email     where a link may be sent
//	role      student (also where it is missing) or instructor
//
// A CSV file (RFC 4180) may be separated by comma, semicolon or tab, in UTF-8 or
// UTF-16 with or without a byte-order mark, or in Windows-1252. An XLSX file is
// read from its first sheet that has rows. Formulas are never worked out: a cell
// that holds one is a problem.
package roster

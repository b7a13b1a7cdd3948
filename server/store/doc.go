// Package store keeps everything that outlives a process, in one SQLite file or
// one PostgreSQL database; what differs between them is in dialect.go. It is the only package that knows gorm and SQL, and it knows no rules of the
// trade: acts, outcomes, keys and reports are bytes to it.
//
// # Promises
//
// An act for which Append returned nil is on the disk, exactly once. The acts of
// a transcript are numbered from 1 without a gap, and only an open attempt takes
// any. Whatever happens to the caller of Append, its act is either stored or it
// is not; asking again with the same retry text gives the answer of the first time.
//
// Times go in and come out as time.Time in UTC, to the microsecond; the zero
// time stands for "not yet". The clock is Config.Now and no other.
//
// Person ids, attempt ids and the like are random text. Names live in one table
// (person to name), so that ErasePerson keeps the rest. Hidden bytes (seeds,
// keys, outcomes) are of type Hidden, which prints as [hidden].
//
// Every error wraps one of the sentinels of errors.go where one fits; whatever
// fits none is a fault of ours or of the machine. A missing row is ErrNotFound,
// never a nil error.
//
// # What there is
//
//	Open(ctx, Config{URL or Path, Now, Readers, MaxWaiting}) (*Store, error)
//	(*Store) Close() error; Ready(ctx) error; Now() time.Time
//
//	AddPerson(ctx, NewPerson{Login, Role, Name, PasswordHash}) (Person, error)
//	Person(ctx, id); PersonByLogin(ctx, login) (Person, error); People(ctx) ([]Person, error)
//	SetPassword(ctx, id, phc); ChangeRole(ctx, id, role, note); Rename(ctx, id, name) error
//	Leave, Return, HoldPerson(ctx, id, ..., note) error; Leavers, Held, DueToErase(ctx); ErasePerson(ctx, id, Blank) error
//	PastStudents(ctx) ([]Past, error); ForgetDeleted(ctx, before) (int, error)
//	Record(ctx, Note) error; Notes(ctx, NoteFilter) ([]Note, error); AboutsOf(ctx, notes) (Abouts, error): the log, only added to
//	GrantAlternatives(ctx, NewGrant{Person, By, Want, Reason}) (changed bool, err error); Grants(ctx, person) ([]Grant, error)
//	AnswerSoundCheck(ctx, person, asked, passed) error   each once
//	FoldLogin(login) string: the form in which two logins are the same
//
//	AddInvite(ctx, NewInvite{Token, Person, By, Expires}) error
//	Invite(ctx, token) (Invite, error); Redeem(ctx, token, phc) (Person, error)
//
//	AddSession(ctx, NewSession{ID, Person, Kind, Expires}) (Session, error)
//	Session(ctx, id) (Session, error)     with its Person; ended and expired ones are ErrNotFound
//	TouchSession, EndSession(ctx, id); ExtendSession(ctx, id, until); EndSessions(ctx, person) error
//	AddRefresh(ctx, sessionID, token, expires) error
//	Refresh(ctx, token, next, expires) (Session, error)   rotates, with RefreshGrace
//	Sweep(ctx) error                      removes what expired long ago
//
//	SigningKeys(ctx) ([]SigningKey, error); EnsureSigningKey(ctx, make); AddSigningKey; RetireSigningKey(ctx, kid)
//
//	PutContent(ctx, bytes) (hash, error); Content(ctx, hash) ([]byte, error)
//
//	AddAttempt(ctx, NewAttempt{...}) (Attempt, error); Attempt(ctx, id) (Attempt, error)
//	AttemptByTranscript(ctx, transcript) (Attempt, error)
//	Attempts(ctx, Filter{Person, Case, State, Before, Limit}) ([]Listed, error)   newest first
//	Finish(ctx, transcript, ended) (Attempt, error)   open -> grading; again: no change
//	ToGrade(ctx, limit) ([]Attempt, error)            oldest first
//
//	Append(ctx, NewAct{Transcript, N, At, By, Retry, Request, Act, Outcome}) (Appended, error)
//	Acts(ctx, transcript, after) ([]Act, error); Act(ctx, transcript, n); LastAct(ctx, transcript) (Act, error)
//
//	SaveReport(ctx, transcript, Report) error         grading -> graded
//	Report(ctx, transcript) (Report, error)
//
//	RubricUses(ctx) ([]RubricUse, error)              visits by the version that marks them
//	Propose(ctx, NewRegrading) (Regrading, error); Regrading(ctx, id); Regradings(ctx, rubric); RegradingsAtWork(ctx)
//	ToRegrade(ctx, Regrading, limit) ([]Attempt, error); KeepRegraded(ctx, id, []Regraded); FinishProposal(ctx, id) error
//	RegradeSummary(ctx, id); ChangedVisits(ctx, id, offset, limit); RefusedVisits(ctx, id, limit); RegradingEvents(ctx, id)
//	Accept, Undo(ctx, id, by, reason, leave) (visits int, err error)   all in one transaction; *ChangedError
//	Withdraw(ctx, id, by) error
//	KeyChanges(ctx, assignment); KeyChangesOf(ctx, transcript) ([]Regrading, error)   a key changed for everybody
//
//	SeenOf(ctx, transcript) (Seen, error)             how a visit's marks stand; what follows is ErrConflict where they no longer do
//	AddOverride(ctx, Override, Seen, note); AddDecision(ctx, Decision, Seen, note); Overrides, Decisions(ctx, transcripts...)
//	AskReview(ctx, transcript, line, person, words, note); AnswerReview(ctx, ReviewAsked, *Override, Seen, note)
//	ReviewsAsked(ctx, transcripts...); ReviewsWaiting(ctx, cohorts, offset, limit) ([]ReviewAsked, total, error)
//	Release(ctx, Release, note); TakeBack(ctx, assignment, turn, note) error; MarkedVisits(ctx, assignment) ([]Listed, error)
//	GrantResit(ctx, Resit, note); Resits(ctx, assignment, person) ([]Resit, error)
//
//	Peek(ctx, Config) (*Store, error)                 opens what is there, to read it; Schema, Current(ctx)
//	Backup(ctx, w, BackupOptions) (Manifest, error); OpenBackup(r, size) (*Backup, error); Restore(ctx, Config, *Backup) error
//	NoteBackup(ctx, taken, note) error; LastBackup(ctx) (time.Time, error)
//	Examine(ctx) (Examined, error); Graded(ctx, after, limit); KeptReports(ctx, table, after, limit)
//
//	Setting(ctx, key) (string, error); SetSetting(ctx, key, value) error; Settings(ctx) (map[string]string, error)
package store

package rubric

import "slices"

// The reason codes of lines. rubric/say has a sentence for every one. A code
// keeps its meaning for ever: reports that are stored name it.
const (
	codeDropped       = "term.dropped"
	codeDomainDropped = "domain.dropped"
	codeFloor         = "floor"
	codeGuard         = "guard.done"
	codeShort         = "order.short"

	codeRuleKept     = "rule.kept"
	codeRuleBroken   = "rule.broken"
	codeRuleShare    = "rule.share"
	codeHabitKept    = "habit.kept"
	codeHabitBroken  = "habit.broken"
	codeRoute        = "route.fit"
	codeRouteFull    = "route.full"
	codeReturns      = "returns.some"
	codeReturnsNone  = "returns.none"
	codeLate         = "late.forgiven"
	codeStepDone     = "step.done"
	codeStepPartly   = "step.partly"
	codeStepOneSide  = "step.oneside"
	codeStepBrief    = "step.brief"
	codeStepMissing  = "step.missing"
	codeStepRefused  = "step.refused"
	codeStepUnknown  = "step.unknown"
	codeSiteUnknown  = "step.site"
	codeHandled      = "handle.done"
	codeNotHandled   = "handle.missing"
	codeOmission     = "handle.omission"
	codeTopicAsked   = "topic.asked"
	codeTopicMissing = "topic.missing"

	codeCaught        = "finding.caught"
	codePartly        = "finding.partly"
	codeSwapped       = "finding.swapped"
	codeMisplaced     = "finding.misplaced"
	codeCalledNormal  = "finding.normal"
	codeLeftBlank     = "finding.blank"
	codeUnseen        = "finding.unseen"
	codeRefused       = "finding.refused"
	codeSettled       = "finding.settled"
	codeUnknown       = "finding.unknown"
	codeNegative      = "negative.right"
	codeNegativePart  = "negative.partly"
	codeNegativeGap   = "negative.blank"
	codeNegativeMiss  = "negative.unseen"
	codeNegativeFalse = "negative.wrong"
	codeFalseAlarm    = "false.alarm"
	codeThrillAlone   = "sheet.thrill"
	codeMurmurAlone   = "sheet.murmur"
	codeUncharted     = "charted.unexamined"
	codeGuardSeen     = "guard.seen"
	codeUnreadable    = "value.unreadable"
	codeNoField       = "field.unknown"
	codeNoSite        = "site.unknown"
	codeNoRegion      = "region.unknown"

	codeReadRight     = "reading.right"
	codeReadNear      = "reading.near"
	codeReadWrong     = "reading.wrong"
	codeReadShort     = "reading.short"
	codeReadBlank     = "reading.blank"
	codeReadUnseen    = "reading.unmeasured"
	codeReadBad       = "reading.unreadable"
	codeReadEarly     = "reading.early"
	codeReadUnknown   = "reading.unknown"
	codeArithmetic    = "reading.arithmetic"
	codeFirstBeat     = "reading.first"
	codePanting       = "reading.panting"
	codeUncounted     = "reading.uncounted"
	codeCallRight     = "call.right"
	codeCallCarried   = "call.carried"
	codeCallAgainst   = "call.against"
	codeCallWrong     = "call.wrong"
	codeCallContrary  = "call.contrary"
	codeCallMissing   = "call.missing"
	codeGuardMeasured = "guard.measured"

	codeCare           = "care.plain"
	codePrecaution     = "precaution.taken"
	codePrecautionMiss = "precaution.missed"
	codePrecautionNone = "precaution.idle"
	codeHazardMinor    = "hazard.minor"
	codeHazardMajor    = "hazard.major"
	codeHazardCritical = "hazard.critical"

	codeNotConcluded    = "conclude.missing"
	codeProblems        = "problems.named"
	codeProblemsNone    = "problems.none"
	codeProblemRight    = "problem.right"
	codeProblemBare     = "problem.unsupported"
	codeProblemMissed   = "problem.missed"
	codeProblemExtra    = "problem.extra"
	codeProblemAccepted = "problem.accepted"
	codeUrgencyRight    = "urgency.right"
	codeUrgencyOver     = "urgency.over"
	codeUrgencyWrong    = "urgency.wrong"
	codeUrgencyMissing  = "urgency.missing"
	codeUrgencyBare     = "urgency.unsupported"
	codeUrgencyCritical = "urgency.critical"
	codeReported        = "report.given"
	codeReportSide      = "report.side"
	codeReportWrong     = "report.wrong"
	codeReportMissing   = "report.missing"
	codeReportUnseen    = "report.unexamined"
	codeFramed          = "report.framed"
	codeUnframed        = "report.unframed"
	codeDiagnosis       = "report.diagnosis"
)

// The codes of Report.Held.
const (
	HeldCharted  = "charted-not-examined"
	HeldCritical = "critical-event"
)

// codes lists every reason code once.
var codes = []string{
	codeDropped,
	codeDomainDropped,
	codeFloor,
	codeGuard,
	codeShort,
	codeRuleKept,
	codeRuleBroken,
	codeRuleShare,
	codeHabitKept,
	codeHabitBroken,
	codeRoute,
	codeRouteFull,
	codeReturns,
	codeReturnsNone,
	codeLate,
	codeStepDone,
	codeStepPartly,
	codeStepOneSide,
	codeStepBrief,
	codeStepMissing,
	codeStepRefused,
	codeStepUnknown,
	codeSiteUnknown,
	codeHandled,
	codeNotHandled,
	codeOmission,
	codeTopicAsked,
	codeTopicMissing,
	codeCaught,
	codePartly,
	codeSwapped,
	codeMisplaced,
	codeCalledNormal,
	codeLeftBlank,
	codeUnseen,
	codeRefused,
	codeSettled,
	codeUnknown,
	codeNegative,
	codeNegativePart,
	codeNegativeGap,
	codeNegativeMiss,
	codeNegativeFalse,
	codeFalseAlarm,
	codeThrillAlone,
	codeMurmurAlone,
	codeUncharted,
	codeGuardSeen,
	codeUnreadable,
	codeNoField,
	codeNoSite,
	codeNoRegion,
	codeReadRight,
	codeReadNear,
	codeReadWrong,
	codeReadShort,
	codeReadBlank,
	codeReadUnseen,
	codeReadBad,
	codeReadEarly,
	codeReadUnknown,
	codeArithmetic,
	codeFirstBeat,
	codePanting,
	codeUncounted,
	codeCallRight,
	codeCallCarried,
	codeCallAgainst,
	codeCallWrong,
	codeCallContrary,
	codeCallMissing,
	codeGuardMeasured,
	codeCare,
	codePrecaution,
	codePrecautionMiss,
	codePrecautionNone,
	codeHazardMinor,
	codeHazardMajor,
	codeHazardCritical,
	codeNotConcluded,
	codeProblems,
	codeProblemsNone,
	codeProblemRight,
	codeProblemBare,
	codeProblemMissed,
	codeProblemExtra,
	codeProblemAccepted,
	codeUrgencyRight,
	codeUrgencyOver,
	codeUrgencyWrong,
	codeUrgencyMissing,
	codeUrgencyBare,
	codeUrgencyCritical,
	codeReported,
	codeReportSide,
	codeReportWrong,
	codeReportMissing,
	codeReportUnseen,
	codeFramed,
	codeUnframed,
	codeDiagnosis,
}

// Codes are the reason codes that Grade can put on a line, in the order of the
// domains.
func Codes() []string { return slices.Clone(codes) }

// HeldCodes are the codes of Report.Held.
func HeldCodes() []string { return []string{HeldCharted, HeldCritical} }

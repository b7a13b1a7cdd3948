package robot

import (
	"math/rand/v2"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// Skills are how well a student does in each domain, in thousandths: 1000
// makes no mistake, 0 makes about as many as a beginner who has not prepared.
type Skills struct{ Order, Completeness, Findings, Vitals, Handling, Conclusions int }

// SkillNames are the domains of Skills, in the order of Skills.List.
func SkillNames() []string {
	return []string{
		rubric.DomainOrder, rubric.DomainCompleteness, rubric.DomainFindings,
		rubric.DomainVitals, rubric.DomainHandling, rubric.DomainConclusions,
	}
}

// List is the skills in the order of SkillNames.
func (s Skills) List() []int {
	return []int{s.Order, s.Completeness, s.Findings, s.Vitals, s.Handling, s.Conclusions}
}

// Able has every skill.
var Able = Skills{1000, 1000, 1000, 1000, 1000, 1000}

// DrawSkills draws six skills, each evenly between 0 and 1000 and none from
// any other: whatever then moves two domains together is the robot's doing or
// the rubric's, not the talent's.
func DrawSkills(seed uint64) Skills {
	var drawn [6]int
	for i := range drawn {
		drawn[i] = stream(seed, 100+uint64(i)).below(1001)
	}
	return Skills{drawn[0], drawn[1], drawn[2], drawn[3], drawn[4], drawn[5]}
}

// stream is a source of chance of its own for one purpose of one robot, so that
// a mistake of one kind shifts none of another.
func stream(seed, purpose uint64) chance {
	c := chance{rand.NewPCG(seed, purpose<<32|0x736b696c)}
	for range 4 { // neighbouring seeds begin alike
		c.Uint64()
	}
	return c
}

// lapse is one skill's mistakes: how much of the skill is missing, in
// thousandths, and the chance they come from.
type lapse struct {
	gap int
	c   chance
}

// one says whether a mistake happens that a student without the skill makes so
// many times in a thousand.
func (l lapse) one(perMille int) bool { return l.c.one(perMille * l.gap / 1000) }

// lapses are the mistakes of all six skills.
type lapses struct{ order, completeness, findings, vitals, handling, conclusions lapse }

func lapsesOf(s Skills, seed uint64) *lapses {
	lack := func(skill int, purpose uint64) lapse {
		return lapse{gap: 1000 - min(max(skill, 0), 1000), c: stream(seed, purpose)}
	}
	return &lapses{
		order: lack(s.Order, 1), completeness: lack(s.Completeness, 2), findings: lack(s.Findings, 3),
		vitals: lack(s.Vitals, 4), handling: lack(s.Handling, 5), conclusions: lack(s.Conclusions, 6),
	}
}

// Skilled begins with what Ideal plans, and spoils every part of it by the one
// skill that the part belongs to and by no other:
//
//   - order permutes the steps, from exchanging neighbours to a full shuffle,
//     and lays hands on before looking;
//   - completeness leaves out steps, sites and questions, and lifts too early
//     where nothing is counted;
//   - findings calls abnormal normal, normal abnormal, takes the wrong side or
//     grade, and leaves the rest of a region unstated;
//   - vitals counts too short, miscounts, misreads and interprets wrongly;
//   - handling leaves out precautions, is firm where it hurts, goes to the sore
//     side first and does not heed what the animal shows;
//   - conclusions misses problems, names others, misjudges the urgency and
//     leaves gaps in the report.
//
// Where a part belongs to two domains by the rubric's own making, one skill
// has it: looking and counting before touching is order's, though it may be a
// precaution too; oxygen, stopping and calling are handling's, though they may
// be required steps as well.
func Skilled(p *cases.Patient, k rubric.Key, s Skills, seed uint64) []rubric.Act {
	none := &style{}
	v := &examinee{
		player: player{
			p: p, k: &k, s: none, c: stream(seed, 7),
			charted: map[rubric.Place]string{}, regions: map[string]bool{},
		},
		l: lapsesOf(s, seed), seen: map[rubric.Place]bool{}, clean: map[rubric.Place]bool{},
	}
	b := &planner{p: p, k: &k, s: none, c: stream(seed, 8)}
	plan := skilledPlan{p: p, k: &k, l: v.l}
	for _, it := range plan.spoil(b.plan()) {
		v.carryOut(it)
	}
	v.finish()
	return v.acts
}

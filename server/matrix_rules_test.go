package server

import (
	"regexp"
	"slices"
	"strings"

	"dewclaw/server/auth"
	"dewclaw/server/store"
)

// teaches reports whether somebody manages a cohort of the matrix.
func teachesThere(who, cohort string) bool {
	return cohort != "gone" && (who == head || slices.Contains(teaching[cohort], who))
}

func learnsThere(who, cohort string) bool {
	return cohort != "gone" && slices.Contains(learning[cohort], who)
}

// teachesPerson reports whether somebody teaches somebody in a cohort that is there.
func teachesPerson(who, whom string) bool {
	return who == head || slices.ContainsFunc([]string{"ours", "theirs"}, func(c string) bool {
		return slices.Contains(teaching[c], who) && slices.Contains(learning[c], whom)
	})
}

// reads reports whether somebody may read a visit at all: its student, as long as
// it is open or once it may be known, and who teaches its student, apart from a
// patient whom the teacher is still to meet.
func reads(who string, x thing) bool {
	if who == x.owner {
		return !x.sitting || x.state == store.StateOpen || x.released
	}
	return teachesPerson(who, x.owner) && !(who == both && x.planted)
}

// whoSees are the object rules: a route that takes an id goes by the kind of the
// object, and by the side from which it asks. A row of exceptions goes first.
func whoSees(who string, r route, x thing) bool {
	for _, e := range exceptions {
		if e.path.MatchString(r.method + " " + r.path) {
			return e.sees(who, x)
		}
	}
	own := r.may == auth.SeeOwn || r.may == auth.Practise
	switch x.kind {
	case "cohort":
		return teachesThere(who, x.cohort)
	case "assignment":
		return x.state != "deleted" && (own && set(who, x) || !own && teachesThere(who, x.cohort))
	case "turn":
		return own && who == x.owner || !own && teachesThere(who, x.cohort)
	case "attempt":
		return own && reads(who, x) || !own && who != x.owner && reads(who, x)
	case "drill":
		return who == x.owner
	case "person":
		return r.may == auth.GrantSounds && teachesPerson(who, x.owner) || r.may != auth.GrantSounds && who == head
	}
	return false
}

// set reports whether an assignment is set for a student.
func set(who string, x thing) bool {
	return learnsThere(who, x.cohort) && x.state == store.AssignmentSet
}

// exception is a rule of routes that go by another one than their kind's.
type exception struct {
	path *regexp.Regexp
	why  string
	sees func(who string, x thing) bool
}

var exceptions = []exception{
	{regexp.MustCompile(`^GET /assignments/:id$`), "the waiting page for its students, the assignment itself for who manages it",
		func(who string, x thing) bool { return set(who, x) || who != "" && teachesThere(who, x.cohort) }},
	{regexp.MustCompile(`/seats$`), "only a sitting is watched over",
		func(who string, x thing) bool { return x.sitting && teachesThere(who, x.cohort) }},
	{regexp.MustCompile(`/attempts/:id/report$`), "only what is marked has a report",
		func(who string, x thing) bool { return reads(who, x) && x.state == store.StateGraded }},
	{regexp.MustCompile(`^POST /(api/v1/attempts|visits)/:id/finish$`), "to hand in again changes nothing, whatever became of the visit",
		func(who string, x thing) bool { return who == x.owner }},
	{regexp.MustCompile(`/(attempts|visits)/:id/(marks|decisions|appeal\..*|reviews/answer)$`), "only what was marked in a sitting is marked by hand",
		func(who string, x thing) bool {
			return who != x.owner && reads(who, x) && x.sitting && x.state == store.StateGraded
		}},
	{regexp.MustCompile(`^POST .*/(attempts|visits)/:id/reviews$`), "a review is asked of what was released",
		func(who string, x thing) bool { return who == x.owner && x.sitting && x.released }},
	{regexp.MustCompile(`^GET /visits/:id$`), "only its student is in the room; others are led to what came of it",
		func(who string, x thing) bool { return reads(who, x) && (who == x.owner || x.state != store.StateOpen) }},
	{regexp.MustCompile(`^GET /visits/:id/finish$`), "only its student concludes it; later it leads to what came of it",
		func(who string, x thing) bool { return who == x.owner && reads(who, x) }},
	{regexp.MustCompile(`/attempts/:id/sweep/|/(attempts|visits)/:id/(acts|finish)$`), "only its student works on it, and only before it is handed in",
		func(who string, x thing) bool { return who == x.owner && (!x.sitting || x.state == store.StateOpen) }},
	{regexp.MustCompile(`/(attempts|visits)/:id/(again|plans?)\b`), "a second look and a plan are for who made the visit, in practice that is marked",
		func(who string, x thing) bool { return who == x.owner && !x.sitting && x.state == store.StateGraded }},
	{regexp.MustCompile(`/visits/:id/forecast$`), "only its student says what to expect; of what is no practice it leads on",
		func(who string, x thing) bool { return who == x.owner && reads(who, x) }},
	{regexp.MustCompile(`/attempts/:id/forecast$`), "only of practice something is expected, by who made the visit",
		func(who string, x thing) bool { return who == x.owner && !x.sitting }},
	{regexp.MustCompile(`/people/:id/alternatives$`), "oneself is told that nobody grants anything to oneself",
		func(who string, x thing) bool { return who == x.owner || teachesPerson(who, x.owner) }},
}

// kinds of the objects that stand in a path, by the part before them.
var kindsOfPaths = map[string]string{"cohorts": "cohort", "assignments": "assignment", "assigned": "assignment", "turns": "turn",
	"attempts": "attempt", "visits": "attempt", "people": "person", "leaving": "person", "drills": "drill"}

// values are what stands in the other places of a path.
var placeValues = map[string][]string{":n": {"1", "2", "3"}, ":species": {"dog"}, ":region": {"heart"}, ":deed": {"next", "pause", "resume", "finish", "here"},
	":token": {"nonsense"}, ":clip": {clipBeats}, ":hash": {"0"}, "*path": {"css/base.css"}, ":rubric": {defaultTrack}}

var placeName = regexp.MustCompile(`[:*][a-z]+`)

// objectOf is the kind of object that a route is about, and its place in the
// path; "" where there is none. Not known: a place that no table here has.
func objectOf(path string) (kind, place string, known bool) {
	parts := strings.Split(path, "/")
	for i, p := range parts {
		if !placeName.MatchString(p) {
			continue
		}
		if k := kindsOfPaths[parts[i-1]]; k != "" && kind == "" {
			kind, place = k, p
			continue
		}
		if placeValues[p] == nil && !(p == ":id" && parts[i-1] == "rubrics") {
			return "", "", false
		}
	}
	return kind, place, true
}

// filled are the paths of a route about one object: with everything that can
// stand in its other places.
func filled(path, place, id string) []string {
	if place != "" {
		path = strings.Replace(path, place, id, 1)
	}
	out := []string{path}
	for _, p := range placeName.FindAllString(path, -1) {
		values := placeValues[p]
		if p == ":id" {
			values = placeValues[":rubric"]
		}
		var next []string
		for _, one := range out {
			for _, v := range values {
				next = append(next, strings.Replace(one, p, v, 1))
			}
		}
		out = next
	}
	return out
}

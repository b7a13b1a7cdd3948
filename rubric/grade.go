package rubric

// Engine is the version of the grading engine; every report names it.
const Engine = "dewclaw-rubric 1.0.0"

// Grade marks one attempt. It is total and pure: it never fails, never panics
// and gives the same bytes for the same input on every processor.
func Grade(r Rubric, k Key, t Transcript) Report {
	return Report{Engine: Engine}
}

// Package trial puts a rubric on trial: robots visit patients, the rubric marks
// them, and the figures say whether it is fair. It is the one place where robots
// (cases/robot) and figures (rubric/cohort) meet; neither knows of the other.
package trial

package file

import (
	"slices"
	"strings"

	"go.yaml.in/yaml/v3"

	"dewclaw/rubric"
)

// circles looks for rules that contradict one another in a circle: what comes
// before in one comes after in the next. Rules that never meet at one patient
// do not contradict one another. Every circle is printed once.
func (r *reader) circles(rules []rubric.RuleRow, nodes []*yaml.Node) {
	c := &circle{rules: rules}
	for i := range rules {
		c.start, c.path, c.dead = i, nil, map[string]bool{}
		for _, from := range rules[i].Before {
			if c.walk(from, from, i) {
				r.fail(nodes[i], "rules go round in a circle: %s; take one of these rules out", strings.Join(c.path, " -> "))
				break
			}
		}
	}
}

// circle is the search for one circle that begins with rule start.
type circle struct {
	rules []rubric.RuleRow
	start int
	path  []string
	dead  map[string]bool // items from which the search found no way back
	used  []int
}

// walk goes from an item along rules, none before start, back to goal.
func (c *circle) walk(at, goal string, rule int) bool {
	c.path, c.used = append(c.path, at), append(c.used, rule)
	for _, next := range c.rules[rule].After {
		if next == goal {
			c.path = append(c.path, next)
			return true
		}
		if c.dead[next] || slices.Contains(c.path, next) {
			continue
		}
		for i := c.start + 1; i < len(c.rules); i++ {
			if slices.Contains(c.rules[i].Before, next) && c.meets(i) && c.walk(next, goal, i) {
				return true
			}
		}
		c.dead[next] = true
	}
	c.path, c.used = c.path[:len(c.path)-1], c.used[:len(c.used)-1]
	return false
}

// meets says whether a rule meets every rule of the way so far at some patient.
func (c *circle) meets(i int) bool {
	return !slices.ContainsFunc(c.used, func(u int) bool { return !c.rules[u].Meets(c.rules[i].Where) })
}

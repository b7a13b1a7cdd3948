package trial

import (
	"fmt"
	"slices"
	"strings"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// doubles says where one lapse is marked twice: precautions of the cases that
// ask for what the rubric asks for as a rule of order or as a required step.
// They are why two domains may correlate among robots whose skills do not.
func doubles(l *cases.Library, r rubric.Rubric, over []*cases.Case) ([]string, error) {
	var said []string
	where := map[string][]string{}
	for _, c := range over {
		_, k, err := patient(l, r, c, 0)
		if err != nil {
			return nil, err
		}
		for i := range k.Precautions {
			for _, text := range double(&k, &k.Precautions[i]) {
				if len(where[text]) == 0 {
					said = append(said, text)
				}
				where[text] = append(where[text], c.ID)
			}
		}
	}
	for i, text := range said {
		said[i] = fmt.Sprintf("Marked twice (%s): %s", strings.Join(where[text], ", "), text)
	}
	return said, nil
}

func double(k *rubric.Key, pre *rubric.Precaution) []string {
	var out []string
	for _, rule := range k.Rules {
		if rule.Tag != "habit" && pre.Kind == "before" && slices.Equal(rule.Before, pre.Done) && slices.Equal(rule.After, pre.Steps) {
			out = append(out, fmt.Sprintf("the precaution %q of Handling is the rule %q of Order.", pre.ID, rule.ID))
		}
	}
	for _, s := range k.Steps {
		if s.Required && s.Kind == rubric.Handle && slices.Contains(pre.Done, s.ID) {
			out = append(out, fmt.Sprintf("the precaution %q of Handling needs %q, which is a required step of Completeness.", pre.ID, s.ID))
		}
	}
	return out
}

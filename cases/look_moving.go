package cases

import "dewclaw/cases/senses"

// movingLooks are the pictures that move.
var movingLooks = []look{
	{"breathing", []string{"resp.rate", "resp.pattern", "resp.effort"}, true, func(v *view) senses.Picture { return v.breath().Picture() }},
	{"refill", []string{"crt"}, true, func(v *view) senses.Picture { return senses.Refill{Millis: v.milli("crt")}.Picture() }},
}

func (v *view) breath() senses.Breath {
	return senses.Breath{Rate: v.p.rateNow(&v.state, "resp_rate"), Phase: v.phase, Effort: v.grade("resp.effort")}
}

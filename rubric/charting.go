package rubric

// Charting is the sheet of a visit that goes on. It takes each act once, so that
// what an act costs does not grow with those before it. After Follow(t) it says
// what Chart and Sweep say of t.
type Charting struct{ s *sheet }

// NewCharting returns an empty sheet of this form.
func NewCharting(form *Form) *Charting { return &Charting{form.sheet(nil, nil)} }

// Follow takes the entries of t that are new: those it took before must stand in
// front of t unchanged.
func (c *Charting) Follow(t Transcript) {
	from := len(c.s.t)
	c.s.t = t
	for i := from; i < len(t); i++ {
		c.s.follow(i)
	}
}

// Lines is the sheet as it stands, as Chart has it.
func (c *Charting) Lines() []ChartLine { return c.s.lines() }

// Standing is how many lines stand on the sheet.
func (c *Charting) Standing() int { return c.s.standing() }

// Each calls do for every line, in the order of Lines.
func (c *Charting) Each(do func(ChartLine)) { c.s.each(do) }

// Sweep is what Sweep says of the region.
func (c *Charting) Sweep(region string) (states, unexamined, each []Place) {
	return c.s.swept(region)
}

// At numbers a place of the sheet, as Form.At does.
func (c *Charting) At(p Place) (int32, bool) { return c.s.Form.At(p) }

// Stands reports whether a line stands at a place.
func (c *Charting) Stands(place int32) bool { return c.s.current[place] != 0 }

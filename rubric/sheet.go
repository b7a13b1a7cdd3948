package rubric

import "slices"

// sheet follows the examination sheet and what was there behind it, act by act.
// Every field at every site has a small number, its place.
type sheet struct {
	*Form
	t       Transcript
	static  []Shown
	truths  []truth // by place
	last    []int32 // by field: the place shown last; -1: none
	current []int32 // by place: index in entries plus 1
	entries []entry
	problem []problem
}

// truth is what the last examine showed at a place. It names where the value
// stands instead of holding it, so that the table of all places stays small.
type truth struct {
	act int32 // position of that examine, plus 1; 0: never examined
	at  int32 // index in what its outcome shows; below zero, the key's static truth
}

// entry is one line written on the sheet.
type entry struct {
	field, place int32
	act          int32 // position of the record
	reading      Reading
	sited        bool // the record named a site of the field
	swept        bool // written by 'rest of this region normal'
	examined     bool // something had shown the field there before
	truth        string
	seen         int32  // position of the examine behind truth
	contact      int32  // seconds of contact of the measuring steps until then
	sure         string // how sure the student is of it; empty: not said
}

// problem is a record that could not be read.
type problem struct {
	field string
	value string // what was written, or the site or region that is not known
	act   int32
	code  string
}

// Form is the empty sheet of some fields: what all visits with these fields share.
// It does not change.
type Form struct {
	fields  []Field
	ids     map[string]int32
	base    []int32          // by field: its first place; sites follow
	count   int32            // places
	regions map[string]int32 // first field of a region; of a Form that only one sheet has, built on the first sweep
	next    []int32
}

// NewForm draws up the empty sheet.
func NewForm(fields []Field) *Form {
	f := formOf(fields)
	f.linkRegions()
	return f
}

// formOf is NewForm without the regions, which a grade mostly does not need.
func formOf(fields []Field) *Form {
	form := &Form{fields: fields, ids: make(map[string]int32, len(fields)), base: make([]int32, len(fields))}
	for i := range fields {
		f := &fields[i]
		form.ids[f.ID] = int32(i)
		form.base[i] = form.count
		form.count++
		if f.PerSite {
			form.count += int32(len(f.Sites))
		}
	}
	return form
}

// sheet is a sheet on which nothing is written.
func (f *Form) sheet(t Transcript, static []Shown) *sheet {
	s := &sheet{Form: f, t: t, static: static, last: make([]int32, len(f.fields)), truths: make([]truth, f.count), current: make([]int32, f.count)}
	for i := range s.last {
		s.last[i] = -1
	}
	return s
}

func newSheet(fields []Field, t Transcript, static []Shown) *sheet {
	return formOf(fields).sheet(t, static)
}

// Places is how many places the sheet has.
func (f *Form) Places() int { return int(f.count) }

// At numbers a place of the sheet, from 0 to Places()-1; false: there is none, since
// the field or the site is not of the catalogue.
func (f *Form) At(p Place) (int32, bool) {
	i, ok := f.ids[p.Field]
	if !ok {
		return 0, false
	}
	place, sited := f.at(i, p.Site)
	return place, sited || p.Site == ""
}

// at is the place of a field at a site; sited says that the site is one of
// the field's. A field without sites has one place, whatever site is given.
func (f *Form) at(field int32, site string) (place int32, sited bool) {
	if own := &f.fields[field]; own.PerSite && site != "" {
		if i := slices.Index(own.Sites, site); i >= 0 {
			return f.base[field] + 1 + int32(i), true
		}
	}
	return f.base[field], false
}

// places is the range of places of a field: from the one without a site.
func (s *sheet) places(field int32) (from, to int32) {
	from, to = s.base[field], s.base[field]+1
	if s.fields[field].PerSite {
		to += int32(len(s.fields[field].Sites))
	}
	return from, to
}

// site is the site of a place of the field; empty for the place without one.
func (s *sheet) site(field, place int32) string {
	if i := place - s.base[field]; i > 0 {
		return s.fields[field].Sites[i-1]
	}
	return ""
}

// show notes what an examine showed; at says where its value stands.
func (s *sheet) show(shown *Shown, pos int, at int32) {
	f, ok := s.ids[shown.Field]
	if !ok {
		return
	}
	place, _ := s.at(f, shown.Site)
	s.truths[place] = truth{int32(pos) + 1, at}
	s.last[f] = place
}

// told is the value of a truth; empty where nothing was examined.
func (s *sheet) told(t truth) string {
	switch {
	case t.act == 0:
		return ""
	case t.at < 0:
		return s.static[-t.at-1].Value
	}
	return s.t[t.act-1].Outcome.Shown[t.at].Value
}

// shown is the truth behind a record at a place: the one shown there, and for
// a record without a site, or of a field shown without one, the last shown.
func (s *sheet) shown(field, place int32) truth {
	if t := s.truths[place]; t.act > 0 {
		return t
	}
	if bare := s.base[field]; place == bare {
		if last := s.last[field]; last >= 0 {
			return s.truths[last]
		}
	} else if t := s.truths[bare]; t.act > 0 {
		return t
	}
	return truth{}
}

// record writes a line. It returns the entry, or nil where nothing was written.
func (s *sheet) record(a *Act, pos int) *entry {
	f, ok := s.ids[a.Field]
	if !ok {
		s.problem = append(s.problem, problem{a.Field, a.Value, int32(pos), codeNoField})
		return nil
	}
	place, sited := s.at(f, a.Site)
	rd, err := s.fields[f].Read(a.Value)
	if err != nil {
		s.problem = append(s.problem, problem{a.Field, a.Value, int32(pos), codeUnreadable})
	}
	if rd.Class == Blank {
		s.current[place] = 0
		return nil
	}
	if !sited && a.Site != "" && s.fields[f].PerSite {
		s.problem = append(s.problem, problem{a.Field, a.Site, int32(pos), codeNoSite})
	}
	return s.write(entry{field: f, place: place, act: int32(pos), reading: rd, sited: sited, sure: a.Sure})
}

// state notes how sure one is of a line that stands as its act wrote it.
func (s *sheet) state(a *Act) {
	f, ok := s.ids[a.Field]
	if !ok {
		return
	}
	place, _ := s.at(f, a.Site)
	if e := s.on(place); e != nil && s.t[e.act].Act.N == a.Of {
		e.sure = a.Sure
	}
}

func (s *sheet) write(e entry) *entry {
	t := s.shown(e.field, e.place)
	e.examined, e.truth, e.seen = t.act > 0, s.told(t), t.act-1
	s.entries = append(s.entries, e)
	s.current[e.place] = int32(len(s.entries))
	return &s.entries[len(s.entries)-1]
}

// value is what an entry says, as written; a swept line says the field's normal.
func (s *sheet) value(e *entry) string {
	if e.swept {
		return s.fields[e.field].Normal[0]
	}
	return s.t[e.act].Act.Value
}

// on is the entry that stands at a place, nil where there is none.
func (s *sheet) on(place int32) *entry {
	if i := s.current[place]; i > 0 {
		return &s.entries[i-1]
	}
	return nil
}

// sweepable says whether 'rest of this region normal' can state the field: a
// choice with a normal value that need not be described line by line.
func (f *Field) sweepable() bool {
	return !f.Each && f.Vital == "" && len(f.Normal) > 0 && (f.Kind == "choice" || f.Kind == "grade")
}

// sweep writes 'rest of this region normal': every examined place of the
// region that has no line yet.
func (s *sheet) sweep(region string, pos int) {
	known := s.inRegion(region, func(f int32) {
		if !s.fields[f].sweepable() {
			return
		}
		s.open(f, func(place int32, examined bool) {
			if examined {
				s.write(entry{field: f, place: place, act: int32(pos),
					reading: Reading{Class: Normal, Choice: -1}, sited: place > s.base[f], swept: true})
			}
		})
	})
	if !known {
		s.problem = append(s.problem, problem{region, "normal", int32(pos), codeNoRegion})
	}
}

// open calls do for every place of a field that could be charted and is not:
// its sites, or the place without a site where it has none.
func (s *sheet) open(f int32, do func(place int32, examined bool)) {
	from, to := s.places(f)
	if s.on(from) != nil {
		return
	}
	if to > from+1 {
		from++
	}
	for p := from; p < to; p++ {
		if s.on(p) == nil {
			do(p, s.truths[p].act > 0 || s.truths[s.base[f]].act > 0)
		}
	}
}

// inRegion calls do for every field of the region, in order; known is false
// where no field is in such a region.
func (s *sheet) inRegion(region string, do func(field int32)) (known bool) {
	if s.regions == nil {
		s.linkRegions()
	}
	first, ok := s.regions[region]
	if !ok {
		return false
	}
	for f := first; f >= 0; f = s.next[f] {
		do(f)
	}
	return true
}

// linkRegions chains the fields of every region. Neighbours mostly share their
// region, so that the map is asked once a run of them.
func (f *Form) linkRegions() {
	f.regions = make(map[string]int32, 48)
	f.next = make([]int32, len(f.fields))
	for end := len(f.fields); end > 0; {
		region := f.fields[end-1].Region
		after, ok := f.regions[region]
		if !ok {
			after = -1
		}
		for end > 0 && f.fields[end-1].Region == region {
			end--
			f.next[end] = after
			after = int32(end)
		}
		f.regions[region] = after
	}
}

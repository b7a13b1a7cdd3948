package cases

import "slices"

// checkCatalogueFile checks a catalogue file as if it lay in the library in the
// place of the one of the same name, together with those that extend it.
func (l *Library) checkCatalogueFile(s source) []Problem {
	f, problems := openCatalogue(s)
	if f == nil {
		return problems
	}
	files := slices.Clone(l.files)
	i := slices.IndexFunc(files, func(o source) bool {
		other, _ := openCatalogue(o)
		return other != nil && other.header.name == f.header.name
	})
	if i < 0 {
		files = append(files, s)
	} else {
		files[i] = s
	}
	scratch := &Library{catalogues: map[string]*Catalogue{}}
	return append(problems, scratch.loadCatalogues(files)...)
}

package cases

// CheckCase checks a case against its catalogue and the reference ranges.
func CheckCase(l *Library, c *Case) []Problem { return nil }

func checkCatalogue(c *Catalogue) []Problem { return nil }

func (l *Library) checkCatalogueFile(s source) []Problem { return nil }

package server

// cohortRoutes are the routes of cohorts and their people.
func cohortRoutes() []route {
	return []route{}
}

// cohortPages are the pages of cohorts and their people.
func cohortPages(row rowMaker) []pageRow {
	return []pageRow{}
}

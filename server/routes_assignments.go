package server

// assignmentRoutes are the routes of assignments, for those who set them.
func assignmentRoutes() []route {
	return []route{}
}

// assignmentPages are the pages of assignments, for those who set them.
func assignmentPages(row rowMaker) []pageRow {
	return []pageRow{}
}

package server

// sittingRoutes are the routes of sittings, for students and invigilators.
func sittingRoutes() []route {
	return []route{}
}

// sittingPages are the pages of sittings, for students and invigilators.
func sittingPages(row rowMaker) []pageRow {
	return []pageRow{}
}

package server

// markRoutes are the routes of marks by hand, release and reviews.
func markRoutes() []route {
	return []route{}
}

// markPages are the pages of marks by hand, release and reviews.
func markPages(row rowMaker) []pageRow {
	return []pageRow{}
}

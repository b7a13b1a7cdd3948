package server

// privacyRoutes are the routes of the log, own data, erasure and retention.
func privacyRoutes() []route {
	return []route{}
}

// privacyPages are the pages of the log, own data, erasure and retention.
func privacyPages(row rowMaker) []pageRow {
	return []pageRow{}
}

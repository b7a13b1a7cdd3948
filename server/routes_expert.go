package server

import "dewclaw/server/auth"

// expertRoutes are the routes of experts who are watched.
func expertRoutes() []route {
	return []route{
		{get, "/experts", auth.Practise, page, noBody, (*Server).showExperts},
		{get, "/experts/:species", auth.Practise, page, noBody, (*Server).showExpert},
		{post, "/experts/:species", auth.Practise, page, small, (*Server).doWatched},
		{get, "/experts/:species/next", auth.Practise, page, noBody, (*Server).showExpertNext},

		{get, "/api/v1/experts", auth.Practise, api, noBody, (*Server).apiExperts},
		{get, "/api/v1/experts/:species", auth.Practise, api, noBody, (*Server).apiExpert},
		{get, "/api/v1/experts/:species/next", auth.Practise, api, noBody, (*Server).apiExpertNext},
		{post, "/api/v1/experts/:species/watched", auth.Practise, api, small, (*Server).apiWatched},
		{get, "/api/v1/experts/:species/acts/:n/sound", auth.Practise, api, noBody, (*Server).apiExpertSound},
		{get, "/api/v1/experts/:species/acts/:n/picture", auth.Practise, api, noBody, (*Server).apiExpertPicture},
	}
}

// expertPages are the pages of experts who are watched.
func expertPages(row rowMaker) []pageRow {
	return []pageRow{
		row("experts", exampleExperts()),
		row("expert", exampleExpert()),
		row("expertnext", exampleExpertNext()),
	}
}

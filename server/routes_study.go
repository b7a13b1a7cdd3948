package server

import "dewclaw/server/auth"

// studyRoutes are the routes of what to do next and of one's own progress.
func studyRoutes() []route {
	return []route{
		{get, "/progress", auth.SeeOwn, page, noBody, (*Server).showProgress},

		{get, "/api/v1/next", auth.Practise, api, noBody, (*Server).apiNext},
		{get, "/api/v1/progress", auth.SeeOwn, api, noBody, (*Server).apiProgress},
	}
}

// studyPages are the pages of one's own progress.
func studyPages(row rowMaker) []pageRow {
	return []pageRow{withPart(row("progress", exampleProgress()), "surestrip")}
}

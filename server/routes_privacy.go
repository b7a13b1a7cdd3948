package server

import "dewclaw/server/auth"

// privacyRoutes are the routes of the log, own data, erasure and retention.
func privacyRoutes() []route {
	return []route{
		{get, "/log", auth.SeeLog, page, noBody, (*Server).showLog},
		{get, "/log/csv", auth.SeeLog, page, noBody, (*Server).logFile},
		{get, "/me", auth.SeeOwn, page, noBody, (*Server).showMe},
		{get, "/me/data", auth.SeeOwn, page, noBody, (*Server).giveOwnData},
		{get, "/leaving", auth.ErasePeople, page, noBody, (*Server).showLeaving},
		{post, "/leaving/:id", auth.ErasePeople, page, actBody, (*Server).doLeaving},

		{get, "/api/v1/log", auth.SeeLog, api, noBody, (*Server).apiLog},
		{get, "/api/v1/me/data", auth.SeeOwn, api, noBody, (*Server).giveOwnData},
	}
}

// privacyPages are the pages of the log, own data, erasure and retention.
func privacyPages(row rowMaker) []pageRow {
	return []pageRow{
		row("log", exampleLog()),
		row("mydata", exampleMe()),
		row("leaving", exampleLeaving()),
	}
}

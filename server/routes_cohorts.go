package server

import "dewclaw/server/auth"

// cohortRoutes are the routes of cohorts and their people.
func cohortRoutes() []route {
	return []route{
		{get, "/cohorts", auth.ManageCohorts, page, noBody, (*Server).showCohorts},
		{post, "/cohorts", auth.ManageCohorts, page, small, (*Server).doCohorts},
		{get, "/cohorts/:id", auth.ManageCohorts, page, noBody, (*Server).showCohort},
		{post, "/cohorts/:id", auth.ManageCohorts, page, actBody, (*Server).doCohort},
		{get, "/cohorts/:id/roster", auth.ManageCohorts, page, noBody, (*Server).showRoster},
		{post, "/cohorts/:id/roster", auth.ManageCohorts, page, rosterBody, (*Server).doSendRoster},
		{post, "/cohorts/:id/roster/do", auth.ManageCohorts, page, small, (*Server).doDoRoster},
		{get, "/cohorts/:id/slips", auth.ManageCohorts, page, noBody, (*Server).showSlips},
		{post, "/cohorts/:id/slips", auth.ManageCohorts, page, small, (*Server).doSlips},
		{post, "/people/:id/link", auth.ManagePeople, page, small, (*Server).doLink},
		{post, "/people/:id/role", auth.ManagePeople, page, actBody, (*Server).doRole},

		{get, "/api/v1/cohorts", auth.ManageCohorts, api, noBody, (*Server).apiCohorts},
		{post, "/api/v1/cohorts", auth.ManageCohorts, api, small, (*Server).apiMakeCohort},
		{get, "/api/v1/cohorts/:id/members", auth.ManageCohorts, api, noBody, (*Server).apiMembers},
		{post, "/api/v1/cohorts/:id/members", auth.ManageCohorts, api, small, (*Server).apiMember},
		{get, "/api/v1/cohorts/:id/roster", auth.ManageCohorts, api, noBody, (*Server).apiRosterState},
		{post, "/api/v1/cohorts/:id/roster", auth.ManageCohorts, api, rosterBody, (*Server).apiRoster},
		{post, "/api/v1/cohorts/:id/roster/do", auth.ManageCohorts, api, small, (*Server).apiDoRoster},
		{get, "/api/v1/cohorts/:id/mail", auth.ManageCohorts, api, noBody, (*Server).apiMailState},
	}
}

// cohortPages are the pages of cohorts and their people.
func cohortPages(row rowMaker) []pageRow {
	return []pageRow{
		row("cohorts", exampleCohorts()),
		row("cohort", exampleCohort()),
		row("roster", exampleRoster()),
		row("slips", exampleSlips()),
	}
}

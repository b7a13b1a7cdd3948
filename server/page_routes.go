package server

import (
	"slices"

	"dewclaw/server/auth"
)

// pageRoutes are the routes of the pages, for the table in routes.go.
func pageRoutes() []route {
	return slices.Concat(firstRoutes(), cohortRoutes(), assignmentRoutes(), sittingRoutes(), markRoutes(), privacyRoutes(), expertRoutes(), drillRoutes(), forecastRoutes(), studyRoutes(), againRoutes())
}

// firstRoutes are the pages for whoever signs in, patients, rubrics and visits.
func firstRoutes() []route {
	return []route{
		{get, "/login", anyone, page, noBody, (*Server).showLogin},
		{post, "/login", anyone, page, small, (*Server).doLogin},
		{post, "/logout", anyone, page, small, (*Server).doLogout},
		{get, "/setup", anyone, page, noBody, (*Server).showSetup},
		{post, "/setup", anyone, page, small, (*Server).doSetup},
		{get, "/join", anyone, page, noBody, (*Server).showJoin},
		{post, "/join", anyone, page, small, (*Server).doJoin},

		{get, "/", signedIn, page, noBody, (*Server).showPatients},
		{get, "/ranges", signedIn, page, noBody, (*Server).showRanges},
		{get, "/who", auth.SeeMatrix, page, noBody, (*Server).showWho},
		{get, "/people", auth.SeePeople, page, noBody, (*Server).showPeople},
		{post, "/people", auth.ManagePeople, page, small, (*Server).doInvite},
		{post, "/people/:id/alternatives", auth.GrantSounds, page, actBody, (*Server).doGrant},
		{get, "/settings", auth.ManageSettings, page, noBody, (*Server).showSettings},
		{post, "/settings", auth.ManageSettings, page, small, (*Server).doSettings},
		{get, "/rubrics", auth.SeeRubrics, page, noBody, (*Server).showRubrics},
		{post, "/rubrics", auth.SeeRubrics, page, small, (*Server).readRubrics},
		{get, "/rubrics/:id", auth.SeeRubrics, page, noBody, (*Server).showRubric},
		{get, "/rubrics/:id/regrade", auth.Regrade, page, noBody, (*Server).showRegrade},
		{post, "/rubrics/:id/regrade", auth.Regrade, page, form, (*Server).doRegrade},

		{get, "/soundcheck", signedIn, page, noBody, (*Server).showSoundCheck},
		{post, "/soundcheck", signedIn, page, small, (*Server).doSoundCheck},
		{get, "/soundcheck/:token/:clip", signedIn, page, noBody, (*Server).soundCheckClip},

		{post, "/visits", auth.Practise, page, small, (*Server).doStart},
		{get, "/visits/:id", auth.SeeOwn, page, noBody, (*Server).showVisit},
		{get, "/visits/:id/finish", auth.Practise, page, noBody, (*Server).showFinish},
		{post, "/visits/:id/finish", auth.Practise, page, form, (*Server).doFinish},
		{get, "/visits/:id/debrief", auth.SeeOwn, page, noBody, (*Server).showDebrief},
	}
}

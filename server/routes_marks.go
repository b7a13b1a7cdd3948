package server

import "dewclaw/server/auth"

// markRoutes are the routes of marks by hand, release and reviews. A visit, an
// assignment or a cohort that is not of one's own cohorts is absent.
func markRoutes() []route {
	return []route{
		{get, "/assignments/:id/marks", auth.Mark, page, noBody, (*Server).showMarks},
		{post, "/assignments/:id/marks", auth.Mark, page, form, (*Server).doMarks},
		{get, "/assignments/:id/strike", auth.Mark, page, noBody, (*Server).showStrike},
		{post, "/assignments/:id/strike", auth.Mark, page, form, (*Server).doStrike},
		{get, "/assignments/:id/gradebook.csv", auth.Mark, page, noBody, (*Server).gradebook},
		{get, "/cohorts/:id/gradebook.csv", auth.Mark, page, noBody, (*Server).cohortGradebook},
		{get, "/visits/:id/marks", auth.Mark, page, noBody, (*Server).showMarkVisit},
		{post, "/visits/:id/marks", auth.Mark, page, form, (*Server).doMarkVisit},
		{get, "/visits/:id/appeal.pdf", auth.Mark, page, noBody, (*Server).appealPDF},
		{get, "/visits/:id/appeal.zip", auth.Mark, page, noBody, (*Server).appealZIP},
		{post, "/visits/:id/reviews", auth.SeeOwn, page, form, (*Server).doAskReview},
		{get, "/reviews", auth.Mark, page, noBody, (*Server).showReviews},
		{post, "/reviews", auth.Mark, page, form, (*Server).doReviews},

		{get, "/api/v1/assignments/:id/marks", auth.Mark, api, noBody, (*Server).apiMarks},
		{post, "/api/v1/assignments/:id/release", auth.Mark, api, actBody, (*Server).apiRelease},
		{get, "/api/v1/attempts/:id/marks", auth.Mark, api, noBody, (*Server).apiMarkedReport},
		{post, "/api/v1/attempts/:id/marks", auth.Mark, api, actBody, (*Server).apiMark},
		{post, "/api/v1/attempts/:id/decisions", auth.Mark, api, actBody, (*Server).apiDecide},
		{post, "/api/v1/attempts/:id/reviews", auth.SeeOwn, api, actBody, (*Server).apiAskReview},
		{post, "/api/v1/attempts/:id/reviews/answer", auth.Mark, api, actBody, (*Server).apiAnswerReview},
		{get, "/api/v1/reviews", auth.Mark, api, noBody, (*Server).apiReviews},
	}
}

// markPages are the pages of marks by hand, release and reviews.
func markPages(row rowMaker) []pageRow {
	return []pageRow{
		row("marks", exampleMarks()),
		row("markvisit", exampleMarkVisit()),
		row("reviewqueue", exampleReviewQueue()),
		withPart(row("strike", exampleStrike()), "changes"),
	}
}

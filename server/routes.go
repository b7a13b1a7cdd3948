package server

import (
	"net/http"

	"dewclaw/server/auth"

	"github.com/gin-gonic/gin"
)

// kind says who reads the answer.
type kind string

const (
	page kind = "page" // people: errors are pages, who is not signed in is sent to the sign-in page
	api  kind = "api"  // programs: errors are problem details
)

// Two policies beside the actions of auth.May. A route without a policy does
// not start.
const (
	anyone   auth.Action = "anyone"    // nobody needs to be signed in
	signedIn auth.Action = "signed-in" // whatever the role
)

// Bytes of body that a route reads.
const (
	noBody  = 0
	small   = 4 << 10
	actBody = 16 << 10
	form    = 64 << 10
)

// route is one row of the table.
type route struct {
	method, path string
	may          auth.Action
	kind         kind
	limit        int64
	handle       func(*Server, *gin.Context) error
}

const (
	get    = http.MethodGet
	post   = http.MethodPost
	remove = http.MethodDelete
)

// routes is every route there is; nothing else registers one. Whether an object
// is this person's is asked where it is read.
func routes() []route {
	return append([]route{
		// Liveness, static files.
		{get, "/healthz", anyone, api, noBody, (*Server).healthz},
		{get, "/readyz", anyone, api, noBody, (*Server).readyz},
		{get, "/static/:hash/*path", anyone, page, noBody, (*Server).staticFile},
		{get, "/api/v1/openapi.yaml", anyone, api, noBody, (*Server).apiDescription},

		// Who.
		{post, "/api/v1/session", anyone, api, small, (*Server).apiSignIn},
		{get, "/api/v1/session", signedIn, api, noBody, (*Server).apiWho},
		{remove, "/api/v1/session", signedIn, api, noBody, (*Server).apiSignOut},
		{post, "/api/v1/token/refresh", anyone, api, small, (*Server).apiRefresh},

		// Patients and the examination as data.
		{get, "/api/v1/cases", auth.Practise, api, noBody, (*Server).apiCases},
		{get, "/api/v1/catalogue/:species", auth.Practise, api, noBody, (*Server).apiCatalogue},
		{get, "/api/v1/catalogue/:species/line", auth.Practise, api, noBody, (*Server).apiLine},

		// Visits.
		{get, "/api/v1/attempts", auth.SeeOwn, api, noBody, (*Server).apiAttempts},
		{post, "/api/v1/attempts", auth.Practise, api, small, (*Server).apiStart},
		{get, "/api/v1/attempts/:id", auth.SeeOwn, api, noBody, (*Server).apiAttempt},
		{post, "/api/v1/attempts/:id/acts", auth.Practise, api, actBody, (*Server).apiAct},
		{get, "/api/v1/attempts/:id/acts/:n/sound", auth.SeeOwn, api, noBody, (*Server).apiSound},
		{get, "/api/v1/attempts/:id/acts/:n/picture", auth.SeeOwn, api, noBody, (*Server).apiPicture},
		{get, "/api/v1/attempts/:id/sweep/:region", auth.Practise, api, noBody, (*Server).apiSweep},
		{post, "/api/v1/attempts/:id/finish", auth.Practise, api, small, (*Server).apiFinish},
		{get, "/api/v1/attempts/:id/report", auth.SeeOwn, api, noBody, (*Server).apiReport},

		// People and settings.
		{get, "/api/v1/people", auth.SeePeople, api, noBody, (*Server).apiPeople},
		{post, "/api/v1/people", auth.ManagePeople, api, small, (*Server).apiInvite},
		{post, "/api/v1/people/:id/alternatives", auth.GrantSounds, api, actBody, (*Server).apiGrant},
	}, pageRoutes()...)
}

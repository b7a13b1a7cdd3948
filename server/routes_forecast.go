package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// forecastRoutes are the routes of how sure one is and of what one expects.
func forecastRoutes() []route {
	return []route{
		{get, "/visits/:id/forecast", auth.Practise, page, noBody, (*Server).showForecast},
		{post, "/visits/:id/forecast", auth.Practise, page, small, (*Server).doForecast},

		{get, "/api/v1/attempts/:id/forecast", auth.Practise, api, noBody, (*Server).apiForecast},
		{post, "/api/v1/attempts/:id/forecast", auth.Practise, api, small, (*Server).apiSayForecast},
		{post, "/api/v1/me/sure", auth.Practise, api, small, (*Server).apiAskSure},
	}
}

// forecastPages are the pages of what one expects.
func forecastPages(row rowMaker) []pageRow {
	return []pageRow{row("forecast", exampleForecast())}
}

func (s *Server) apiForecast(c *gin.Context) error {
	f, err := s.forecast(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, f)
}

func (s *Server) apiSayForecast(c *gin.Context) error {
	var form forecastForm
	if err := decode(c, &form); err != nil {
		return err
	}
	f := face.Forecast{Said: true, Percent: form.Percent, Least: form.Least}
	if f.Percent == nil {
		return invalid("/percent", "what you expect of each domain in percent; {} passes over it")
	}
	if err := s.sayForecast(c.Request.Context(), person(c), c.Param("id"), f); err != nil {
		return err
	}
	return s.answer(c, made, f)
}

// forecastForm is the body of POST /api/v1/attempts/{id}/forecast.
type forecastForm struct {
	Percent map[string]int `json:"percent"`
	Least   *face.Place    `json:"least,omitempty"`
}

// sureForm is the body of POST /api/v1/me/sure.
type sureForm struct {
	Asked *bool `json:"asked"` // while one charts in practice
}

// apiAskSure switches for oneself whether one is asked how sure one is.
func (s *Server) apiAskSure(c *gin.Context) error {
	var f sureForm
	if err := decode(c, &f); err != nil {
		return err
	}
	if f.Asked == nil {
		return invalid("/asked", "true or false")
	}
	if err := s.store.AskSure(c.Request.Context(), person(c).ID, *f.Asked); err != nil {
		return err
	}
	return s.answer(c, done, f)
}

package server

import (
	"strconv"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// marksAnswer are an assignment's marks.
type marksAnswer struct {
	Marks []face.MarkedVisit `json:"marks"`
}

// releaseForm is the body of POST /api/v1/assignments/{id}/release.
type releaseForm struct {
	Turn     string `json:"turn"`     // empty: everybody
	Back     bool   `json:"back"`     // takes the release back
	Although bool   `json:"although"` // others can still sit, and that is known
	Reason   string `json:"reason"`   // of taking it back
}

// markBody is the body of POST /api/v1/attempts/{id}/marks.
type markBody struct {
	Line   string      `json:"line"`
	Points face.Points `json:"points"`
	Reason string      `json:"reason"`
	Seen   string      `json:"seen"`
}

// decisionBody is the body of POST /api/v1/attempts/{id}/decisions.
type decisionBody struct {
	What   string `json:"what"`
	Stands bool   `json:"stands"`
	Reason string `json:"reason"`
	Seen   string `json:"seen"`
}

// askBody is the body of POST /api/v1/attempts/{id}/reviews.
type askBody struct {
	Line  string `json:"line"`
	Words string `json:"words"`
}

// answerBody is the body of POST /api/v1/attempts/{id}/reviews/answer.
type answerBody struct {
	Line   string       `json:"line"`
	Points *face.Points `json:"points"` // absent: the mark stays
	Reason string       `json:"reason"`
	Seen   string       `json:"seen"`
}

// reviewsAnswer is one page of the reviews that wait.
type reviewsAnswer struct {
	Reviews []face.ReviewWaiting `json:"reviews"`
	Total   int                  `json:"total"`
}

func (s *Server) apiMarks(c *gin.Context) error {
	a, _, err := s.toMark(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	all, err := s.markedTurns(c.Request.Context(), a)
	if err != nil {
		return err
	}
	return s.answer(c, done, marksAnswer{s.markedRows(a, all)})
}

func (s *Server) apiRelease(c *gin.Context) error {
	var f releaseForm
	if err := decode(c, &f); err != nil {
		return err
	}
	ctx, id := c.Request.Context(), c.Param("id")
	if f.Back {
		if err := s.takeBack(ctx, person(c), id, f.Turn, f.Reason); err != nil {
			return err
		}
		return s.answer(c, done, face.Released{LeftOut: []face.LeftOut{}})
	}
	got, err := s.release(ctx, person(c), id, releaseAsk{turn: f.Turn, although: f.Although})
	if err != nil {
		return err
	}
	return s.answer(c, done, got)
}

func (s *Server) apiMarkedReport(c *gin.Context) error {
	r, err := s.markedReport(c.Request.Context(), person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, done, r)
}

func (s *Server) apiMark(c *gin.Context) error {
	var f markBody
	if err := decode(c, &f); err != nil {
		return err
	}
	ask := markAsk{line: f.Line, reason: f.Reason, seen: f.Seen, points: points(int64(f.Points))}
	if err := s.mark(c.Request.Context(), person(c), c.Param("id"), ask); err != nil {
		return err
	}
	return s.apiMarkedReport(c)
}

func (s *Server) apiDecide(c *gin.Context) error {
	var f decisionBody
	if err := decode(c, &f); err != nil {
		return err
	}
	ask := decideAsk{what: f.What, reason: f.Reason, seen: f.Seen, stands: f.Stands}
	if err := s.decide(c.Request.Context(), person(c), c.Param("id"), ask); err != nil {
		return err
	}
	return s.apiMarkedReport(c)
}

func (s *Server) apiAskReview(c *gin.Context) error {
	var f askBody
	if err := decode(c, &f); err != nil {
		return err
	}
	ctx := c.Request.Context()
	if err := s.askReview(ctx, person(c), c.Param("id"), f.Line, f.Words); err != nil {
		return err
	}
	r, err := s.report(ctx, person(c), c.Param("id"))
	if err != nil {
		return err
	}
	return s.answer(c, made, lineIn(&r, f.Line))
}

func (s *Server) apiAnswerReview(c *gin.Context) error {
	var f answerBody
	if err := decode(c, &f); err != nil {
		return err
	}
	ask := answerAsk{markAsk: markAsk{line: f.Line, reason: f.Reason, seen: f.Seen}}
	if f.Points != nil {
		ask.points, ask.changed = points(int64(*f.Points)), true
	}
	if err := s.answerReview(c.Request.Context(), person(c), c.Param("id"), ask); err != nil {
		return err
	}
	return s.apiMarkedReport(c)
}

func (s *Server) apiReviews(c *gin.Context) error {
	page := 1
	if text, given := c.GetQuery("page"); given {
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 1_000_000 {
			return invalid("/page", "A whole number from 1.")
		}
		page = n
	}
	rows, total, err := s.reviewsWaiting(c.Request.Context(), person(c), page)
	if err != nil {
		return err
	}
	return s.answer(c, done, reviewsAnswer{rows, total})
}

package server

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"dewclaw/server/face"

	"github.com/gin-gonic/gin"
)

// mostOwnDrills are listed.
const mostOwnDrills = 20

// drillsPage is where a drill is begun.
type drillsPage struct {
	Base
	Going   *goingDrill
	Species []speciesChoice
	Kinds   []drillKindRow
	Wrong   string
}

// goingDrill is a drill that was left.
type goingDrill struct{ ID, Label, Begun string }

type speciesChoice struct {
	ID, Label string
	Chosen    bool
}

// drillKindRow is a kind of drill as it is offered.
type drillKindRow struct{ ID, Label, Hint, Takes, Only, Last string }

// ownDrills are one's own drills, the newest first.
func (s *Server) ownDrills(ctx context.Context, who face.Person) ([]face.DrillRow, error) {
	rows, err := s.store.DrillsOf(ctx, who.ID, mostOwnDrills)
	if err != nil {
		return nil, err
	}
	out := []face.DrillRow{}
	for _, d := range rows {
		k, _ := drillKind(d.Kind)
		out = append(out, face.DrillRow{ID: d.ID, Kind: d.Kind, Label: k.Label, Species: d.Species, Started: d.Started, Ended: timeOrNone(d.Ended)})
	}
	return out, nil
}

func (s *Server) showDrills(c *gin.Context) error {
	p, err := s.drillsPage(c, c.Query("species"))
	if err != nil {
		return err
	}
	return s.page(c, "drills", p)
}

// drillsPage lists the kinds, for a species or for any.
func (s *Server) drillsPage(c *gin.Context, species string) (*drillsPage, error) {
	ctx, who := c.Request.Context(), person(c)
	if err := s.notWhileSitting(ctx, who); err != nil {
		return nil, err
	}
	kinds, err := s.drillKinds(ctx, who)
	if err != nil {
		return nil, err
	}
	own, err := s.ownDrills(ctx, who)
	if err != nil {
		return nil, err
	}
	p := &drillsPage{Base: Base{Title: "Drills"}, Species: []speciesChoice{{"", "Any", species == ""}}}
	if species == "" && len(own) > 0 {
		species = own[0].Species // as it was last
	}
	for _, id := range s.library.Species() {
		p.Species = append(p.Species, speciesChoice{id, s.speciesLabel(id), id == species})
	}
	p.Species[0].Chosen = !slices.ContainsFunc(p.Species[1:], func(x speciesChoice) bool { return x.Chosen })
	for _, k := range kinds {
		p.Kinds = append(p.Kinds, s.drillKindRow(k))
	}
	if len(own) > 0 && own[0].Ended == nil {
		p.Going = &goingDrill{own[0].ID, own[0].Label, s.moment(own[0].Started)}
	}
	return p, nil
}

// speciesLabel is a species as people read it.
func (s *Server) speciesLabel(id string) string {
	if cat := s.catalogues[id]; cat != nil {
		return cat.Label
	}
	return id
}

func (s *Server) drillKindRow(k face.DrillKind) drillKindRow {
	row := drillKindRow{ID: k.ID, Label: k.Label, Hint: k.Hint, Takes: fmt.Sprintf("%s, about %d s", countIs(k.Items, "item", "items"), k.Seconds)}
	if len(k.Species) < len(s.library.Species()) {
		var names []string
		for _, id := range k.Species {
			names = append(names, strings.ToLower(s.speciesLabel(id)))
		}
		row.Only = strings.Join(names, ", ")
	}
	if k.Last != nil {
		row.Last = s.moment(*k.Last)
	}
	return row
}

func (s *Server) doBeginDrill(c *gin.Context) error {
	species := c.PostForm("species")
	d, err := s.beginDrill(c.Request.Context(), who(c), c.PostForm("kind"), species)
	if err == nil {
		return s.redirect(c, "/drills/"+d.ID)
	}
	row, f := tell(err)
	if row.status != http.StatusUnprocessableEntity || len(f.Fields) == 0 {
		return err
	}
	p, again := s.drillsPage(c, species)
	if again != nil {
		return again
	}
	p.Wrong = f.Fields[0].Detail
	return s.write(c, row.status, "drills", p)
}

// doDrill goes on to the next item, takes a drill over, or ends it.
func (s *Server) doDrill(c *gin.Context) error {
	n, _ := strconv.Atoi(c.PostForm("n"))
	err := s.drillDeed(c.Request.Context(), who(c), c.Param("id"), c.PostForm("deed"), n)
	return s.backToDrill(c, err)
}

// backToDrill shows a drill as it stands after a deed; what stood in the way of
// the deed is said above it.
func (s *Server) backToDrill(c *gin.Context, err error) error {
	switch {
	case err == nil:
		return s.redirect(c, "/drills/"+c.Param("id"))
	case errors.Is(err, ErrElsewhere), errors.Is(err, ErrOver), errors.Is(err, ErrNotNow):
		return s.drillAgain(c, err, drillForm{})
	}
	return err
}

// drillAgain is a drill as it stands with what was wrong and what was typed.
func (s *Server) drillAgain(c *gin.Context, err error, f drillForm) error {
	p, again := s.drillPage(c)
	if again != nil {
		return again
	}
	row, fault := tell(err)
	p.Form, p.Wrong = f, row.text
	for i, x := range fault.Fields {
		if i == 0 {
			p.Wrong = ""
		}
		p.Wrong = joinSet([]string{p.Wrong, x.Detail}, " ")
	}
	return s.write(c, row.status, "drill", p)
}

func (s *Server) doVoidItem(c *gin.Context) error {
	return s.backToDrill(c, s.voidItem(c.Request.Context(), who(c), c.Param("id"), itemOf(c), c.PostForm("why")))
}

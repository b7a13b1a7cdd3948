package cases

import (
	"fmt"
	"slices"

	"dewclaw/rubric"
)

// precautions expand the catalogue's rows that the case names. One that compares
// a sore place with its peers stands for every sore region by itself: the better
// ear before the worse one says nothing about the hips.
func (b *keyMaker) precautions() error {
	for _, id := range b.p.kase.Precautions {
		row := b.p.cat.PrecautionRow(id)
		if row == nil {
			return fmt.Errorf("cases: %s: no precaution %q in the catalogue %s", b.p.kase.ID, id, b.p.cat.Species)
		}
		regions := b.soreRegions()
		if !slices.Contains(row.Among, "{peers}") || len(regions) < 2 {
			b.precaution(row, row.ID, regions)
			continue
		}
		for _, region := range regions {
			b.precaution(row, row.ID+"/"+region, []string{region})
		}
	}
	return nil
}

func (b *keyMaker) precaution(row *Precaution, id string, regions []string) {
	sore, peers := b.painful(regions)
	expand := func(in []string) []string {
		var out []string
		for _, s := range in {
			switch s {
			case "{painful}":
				out = append(out, sore...)
			case "{peers}":
				out = append(out, peers...)
			default:
				out = append(out, s)
			}
		}
		return out
	}
	b.key.Precautions = append(b.key.Precautions, rubric.Precaution{
		ID: id, Kind: row.Kind, Done: row.Done, Steps: expand(row.Steps), Among: expand(row.Among),
	})
}

// soreRegions are the regions with pain, in the catalogue's order.
func (b *keyMaker) soreRegions() []string {
	var out []string
	for _, g := range b.p.cat.Regions {
		if slices.ContainsFunc(b.p.pain, func(a Pain) bool { return a.Region == g.ID }) {
			out = append(out, g.ID)
		}
	}
	return out
}

// painful are the touching steps over the pain of some regions as step or
// step@site, and their peers: the same steps at the sites that do not hurt, or,
// where all of a region hurts, the touching steps of the other regions of its
// stage.
func (b *keyMaker) painful(regions []string) (sore, peers []string) {
	var instead []string
	for _, s := range b.touching() {
		if !slices.Contains(regions, s.Region) {
			if !slices.Contains(b.soreRegions(), s.Region) && b.shareStage(s, regions) {
				instead = append(instead, s.ID)
			}
			continue
		}
		for _, site := range oneOrMore(s.Sites) {
			id := s.ID
			if site != "" {
				id += "@" + site
			}
			if b.p.painAt(s, site) > 0 {
				sore = append(sore, id)
			} else {
				peers = append(peers, id)
			}
		}
	}
	if len(peers) == 0 {
		peers = instead
	}
	return sore, peers
}

// touching are the steps of this patient that lay hands on it.
func (b *keyMaker) touching() []*Step {
	var out []*Step
	for i := range b.p.cat.Steps {
		if s := &b.p.cat.Steps[i]; s.Touch && b.p.Applies(s.ID) {
			out = append(out, s)
		}
	}
	return out
}

func (b *keyMaker) shareStage(s *Step, regions []string) bool {
	return slices.ContainsFunc(regions, func(id string) bool {
		g := b.p.cat.Region(id)
		return g != nil && g.Stage == b.stage(s)
	})
}

func (b *keyMaker) stage(s *Step) string {
	if g := b.p.cat.Region(s.Region); g != nil {
		return g.Stage
	}
	return ""
}

// oneOrMore is the list, or one empty entry.
func oneOrMore(sites []string) []string {
	if len(sites) == 0 {
		return []string{""}
	}
	return sites
}

package server

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"dewclaw/cases"

	"github.com/stretchr/testify/require"
)

// The marks are words that stand nowhere but in the hidden parts of one case.
// The heart and breathing rates are numbers that stand nowhere else either.
const (
	markCase     = "zqcasezq"
	markTitle    = "Zqtitlezq of the house"
	markTeaching = "Zqteachingzq explains all."
	markTag      = "zqtagzq"
	markWhy      = "Zqwhyzq hurts it."
	markFile     = "zqfilezq"
	markHeart    = "163"
	markBreath   = "67"
	markAnswer   = "Zqanswerzq, he eats well."
	markCue      = "Zqcuezq" // begins the words of everything that is heard
)

// plantedCase is a patient with a mark in every hidden place.
const plantedCase = `case: ` + markCase + `
title: ` + markTitle + `
species: dog
situation: routine
signalment: {name: Bramble, breed: English springer spaniel, sex: female neutered, age: 8 y, weight: 24.5 kg}
presenting: Two months of stiffness after rest; no fall seen.
demeanour: calm
history: {answers: {appetite: "` + markAnswer + `"}, otherwise: I have not noticed., required: [appetite]}
truth:
  heart.rate: ` + markHeart + `
  resp.rate: ` + markBreath + `
  stifle.effusion: {right: moderate}
  stifle.response: {right: moderate}
pain: [{region: stifle, site: right, level: 2}]
hazards: [{id: zqhazardzq, step: stifle.palpate, site: right, unless: gentle, severity: minor, why: "` + markWhy + `"}]
precautions: [look first]
negatives: [heart.murmur@left apex, heart.thrill@left, lung.sounds@left ventral, mm.colour, hip.crepitus@left]
conclusions: {problems: [{id: osteoarthritis, signs: [stifle.effusion@right]}], urgency: routine, report: [stifle.effusion@right]}
tags: {competency: [` + markTag + `], system: [locomotor]}
difficulty: 2
use: practice
teaching: ` + markTeaching + `
sources: [an invented patient with planted marks]
confidence: derived
`

// brokenCase is a file that instructors see with its problem.
const brokenCase = "case: broken\ntitle: Zqbrokenzq\nspecies: unicorn\n"

// heardFields are the fields that a stethoscope reveals in a dog.
var heardFields = []string{"heart.rhythm", "heart.murmur", "heart.sounds", "lung.sounds", "trachea.sounds", "gut.sounds"}

// cueStart is the beginning of a choice's cue, as long as the mark.
var cueStart = regexp.MustCompile(`(cue: "?)[^"\[]{7}`)

// plantedCatalogue is the mammals' catalogue with a mark in every cue that is heard.
func plantedCatalogue(t testing.TB) []byte {
	raw, err := fs.ReadFile(cases.BuiltinFiles(), "catalogue/mammal.yaml")
	require.NoError(t, err)
	text := string(raw)
	for _, field := range heardFields {
		from := strings.Index(text, "\n  "+field+":\n")
		require.Positive(t, from, field)
		to := from + 1 + regexp.MustCompile(`\n  [a-z]`).FindStringIndex(text[from+1:])[0]
		marked := cueStart.ReplaceAllString(text[from:to], "${1}"+markCue)
		require.Greater(t, strings.Count(marked, markCue), 2, field)
		text = text[:from] + marked + text[to:]
	}
	return []byte(text)
}

// planted is a school whose own library holds only the planted case and a broken
// one, and in whose catalogue the words of sounds are marked.
func planted(t testing.TB, change ...func(*Config)) *school {
	return newSchool(t, append([]func(*Config){withFiles(t, fstest.MapFS{
		"catalogue/mammal.yaml":       {Data: plantedCatalogue(t)},
		"cases/" + markFile + ".yaml": {Data: []byte(plantedCase)},
		"cases/broken.yaml":           {Data: []byte(brokenCase)},
	})}, change...)...)
}

// plantedID is the planted case's opaque id.
func (sc *school) plantedID() string { return sc.s.opaque(markCase) }

func TestPlantedCaseLoads(t *testing.T) {
	t.Parallel()
	sc := planted(t)
	for _, b := range sc.s.library.Broken() {
		if b.Name == "cases/"+markFile+".yaml" {
			t.Errorf("%s: %v", b.Name, b.Problems)
		}
	}
	if sc.s.library.Case(markCase) == nil {
		t.Fatal("the planted case does not load")
	}
}

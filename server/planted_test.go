package server

import (
	"testing"
	"testing/fstest"
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

// planted is a school whose own library holds only the planted case and a broken one.
func planted(t testing.TB, change ...func(*Config)) *school {
	return newSchool(t, append([]func(*Config){withFiles(t, fstest.MapFS{
		"cases/" + markFile + ".yaml": {Data: []byte(plantedCase)},
		"cases/broken.yaml":           {Data: []byte(brokenCase)},
	})}, change...)...)
}

// plantedID is the planted case's opaque id.
func (sc *school) plantedID() string { return sc.s.opaque(markCase) }

func TestPlantedCaseLoads(t *testing.T) {
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

package server

import "dewclaw/server/face"

func exampleExperts() *expertsPage {
	return &expertsPage{Base: Base{Title: "Watch an expert", Person: examplePerson("student")},
		Experts: []expertRow{expertRowOf(face.ExpertLine{Species: "dog", Label: "Dog", Patient: "Bramble", Moments: 66, Seconds: 1551, Watched: watchedWhole})}}
}

func exampleExpert() *expertPage {
	scenes := []face.ExpertScene{
		{N: 1, Kind: "ask", Title: "Ask the owner", Why: "The history tells where to look.", Clock: 8, Beats: []face.ExpertBeat{{Act: 1, Label: "How is the appetite?", Words: []string{"“As always.”"}, Lead: 1}}},
		{N: 2, Kind: "examine", Step: "heart.auscultate", Region: "heart", Stage: "Chest", Title: "Auscultate the heart", Why: "Counted over 15 s.", Source: "a textbook", Asks: true, Clock: 23,
			Signs: []string{"She looks back."}, Beats: []face.ExpertBeat{{Act: 2, Label: "left apex", Seconds: 15, Heard: true, Seen: true, Words: []string{"Heard: two clear sounds.", "A steady beat.", "Strong."}, Lead: 2,
				Charted: []face.ExpertCharted{{Text: "Heart rate: 104 /min, normal"}, {Text: "Murmur: grade 2", Off: true}}}}},
	}
	e := face.Expert{Species: "dog", Label: "Dog", Patient: examplePatient(), Seconds: 23, Moments: scenes}
	p := expertPageOf(e, exampleCatalogue(), func(int) []guessRow { return []guessRow{{"heart.auscultate", "Auscultate the heart"}} })
	p.Person, p.Traced = examplePerson("student"), true
	return p
}

func exampleExpertNext() *expertNextPage {
	return &expertNextPage{Base: Base{Title: "What would you do next?"}, Species: "dog", Name: "Bramble", Sign: "✓", Back: "/experts/dog#m2",
		Answer: face.ExpertAnswer{Yours: "“weigh”", Theirs: "“listen”", Verdict: guessFits, Words: "“Weigh” would do as well here."}}
}

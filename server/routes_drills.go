package server

import (
	"dewclaw/server/auth"
	"dewclaw/server/face"
)

// drillRoutes are the routes of drills. A drill is one person's own, staff's too.
func drillRoutes() []route {
	return []route{
		{get, "/drills", auth.Practise, page, noBody, (*Server).showDrills},
		{post, "/drills", auth.Practise, page, small, (*Server).doBeginDrill},
		{get, "/drills/:id", auth.Practise, page, noBody, (*Server).showDrill},
		{post, "/drills/:id", auth.Practise, page, small, (*Server).doDrill},
		{post, "/drills/:id/items/:n", auth.Practise, page, small, (*Server).doAnswerItem},
		{post, "/drills/:id/items/:n/void", auth.Practise, page, small, (*Server).doVoidItem},
		{get, "/drills/:id/items/:n/sound", auth.Practise, page, noBody, (*Server).drillItemSound},
		{get, "/drills/:id/items/:n/picture", auth.Practise, page, noBody, (*Server).drillItemPicture},

		{get, "/api/v1/drills", auth.Practise, api, noBody, (*Server).apiDrills},
		{post, "/api/v1/drills", auth.Practise, api, small, (*Server).apiBeginDrill},
		{get, "/api/v1/drills/:id", auth.Practise, api, noBody, (*Server).apiDrill},
		{post, "/api/v1/drills/:id", auth.Practise, api, small, (*Server).apiDrillDeed},
		{post, "/api/v1/drills/:id/items/:n", auth.Practise, api, small, (*Server).apiAnswerItem},
		{post, "/api/v1/drills/:id/items/:n/void", auth.Practise, api, small, (*Server).apiVoidItem},
		{get, "/api/v1/drills/:id/items/:n/sound", auth.Practise, api, noBody, (*Server).drillItemSound},
		{get, "/api/v1/drills/:id/items/:n/picture", auth.Practise, api, noBody, (*Server).drillItemPicture},
	}
}

// drillPages are the pages of drills.
func drillPages(row rowMaker) []pageRow {
	return []pageRow{row("drills", exampleDrills()), row("drill", exampleDrill())}
}

func exampleDrills() *drillsPage {
	return &drillsPage{Base: Base{Title: "Drills"}, Going: &goingDrill{"d1", "Lung fields", "25 Nov 2026, 09:30"}, Species: []speciesChoice{{"", "Any", true}, {"dog", "Dog", false}},
		Kinds: []drillKindRow{{"lung-fields", "Lung fields", "What is heard at a field.", "6 items, about 90 s", "dog, cat", "25 Nov 2026, 09:30"}}, Wrong: "Choose another."}
}

func exampleDrill() *drillPage {
	ask := &face.DrillAsk{Words: "Count the heart rate.", Signalment: "Nettle, terrier", Place: "Auscultate the heart, left apex", Sense: "sound", Clips: []face.DrillClip{{Words: "A regular beat"}, {Which: 1, Label: "B"}},
		Choices: []face.Choice{{ID: "none", Label: "None"}}, Unit: "/min", Range: true, Count: true, Seconds: 10}
	told := &face.ItemTold{Asked: ask.Words, Said: "104 /min", Actual: "108 /min", Reason: "It was 108 /min.", Right: true, Mark: 1000, Sure: 75}
	p := &drillPage{Base: Base{Title: "Ten heart rates"}, ID: "d1", Label: "Ten heart rates", Item: 3, N: 3, Of: 10, Asked: true, Ask: ask, Traced: true, Form: drillForm{Count: "18", Over: "10"}, Wrong: "Write how many you counted."}
	p.offer()
	p.Told, p.Void, p.Elsewhere, p.Last = told, voidWords[voidSlept], true, true
	p.End = &drillEnd{Says: []string{"You had 7 of 10 right."}, Rows: []drillRow{{1, ask.Words, "104 /min", "108 /min", true}}, Kind: "heart-rates", Of: "dog"}
	return p
}

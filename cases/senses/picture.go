package senses

// Picture is something to look at: GIF where it moves, SVG where it stands still.
type Picture struct {
	Type  string // media type
	Bytes []byte
}

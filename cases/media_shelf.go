package cases

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"sync"

	"dewclaw/cases/media"
	"dewclaw/rubric/normal"
)

// MaxMedia is how much the media of one library may take in memory, in bytes.
// They are made when the library is loaded, for only so a broken one is found
// before a student meets it and a case's hash can hold what is heard.
const MaxMedia = 64 << 20

// mediaDir is the folder of recordings and pictures, beside cases/ and catalogue/.
const mediaDir = "media"

// mediaShelf holds the media of a library, each made once.
type mediaShelf struct {
	layers []fs.FS
	kept   func(hash string) ([]byte, error) // where a case is as it was: its media as they were

	mu    sync.Mutex
	made  map[makeBy]*media.Medium
	total int
}

// makeBy is what the same medium is made by.
type makeBy struct {
	file        string // or the hash of a kept one
	rate, level int
}

func newShelf(layers []fs.FS, kept func(string) ([]byte, error)) *mediaShelf {
	return &mediaShelf{layers: layers, kept: kept, made: map[makeBy]*media.Medium{}}
}

// WithMedia is the library with another folder of media, which lies in fsys.
func (l *Library) WithMedia(fsys fs.FS) *Library {
	out := *l
	out.media = newShelf([]fs.FS{fsys}, nil)
	return &out
}

// LoadKept loads what an attempt began with: the files as they were, and by its
// hash what Medium.Bytes gave.
func LoadKept(ranges normal.Table, fsys fs.FS, kept func(hash string) ([]byte, error)) (*Library, error) {
	return loadWith(ranges, newShelf(nil, kept), fsys)
}

// bring makes the media of a case and adds to its text a line for each with the
// hash of what is heard or seen, so that a case with another recording is
// another case.
func (l *Library) bring(k *Case, hashes map[string]string) []Problem {
	var problems []Problem
	var lines bytes.Buffer
	for i := range k.Media {
		m := &k.Media[i]
		if m.File == "" {
			continue // the check says so
		}
		made, err := l.shelf().get(m, hashes[m.Sense()+" "+m.Key()])
		if err != nil {
			problems = append(problems, k.marks.at(m.at.to("file")...).problem("%s: %v", clip(m.File, 80), err))
			continue
		}
		m.made = made
		fmt.Fprintf(&lines, "# medium %s %s %s\n", made.Hash, m.Sense(), m.Key())
	}
	if lines.Len() > 0 && len(problems) == 0 {
		if !bytes.HasSuffix(k.Source, []byte("\n")) {
			k.Source = append(k.Source, '\n')
		}
		k.Source = append(k.Source, lines.Bytes()...)
	}
	sum := sha256.Sum256(k.Source)
	k.Hash = hex.EncodeToString(sum[:])
	return problems
}

var mediumLine = regexp.MustCompile(`\n# medium ([0-9a-f]{64}) ((?:sound|picture) [^\n]+)\n$`)

// withoutHashes parts a case's text from the lines that bring has added.
func withoutHashes(data []byte) ([]byte, map[string]string) {
	hashes := map[string]string{}
	for {
		m := mediumLine.FindSubmatchIndex(data)
		if m == nil {
			return data, hashes
		}
		hashes[string(data[m[4]:m[5]])] = string(data[m[2]:m[3]])
		data = data[:m[0]+1]
	}
}

func (l *Library) shelf() *mediaShelf {
	if l.media == nil {
		return newShelf(nil, nil)
	}
	return l.media
}

// get makes a medium, or gives the one that was made.
func (s *mediaShelf) get(m *Medium, hash string) (*media.Medium, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	by := makeBy{m.File, m.Rate, loudAt(m.Step)}
	if s.kept != nil {
		by.file = hash
	}
	if had := s.made[by]; had != nil {
		return had, nil
	}
	made, err := s.make(m, by)
	if err != nil {
		return nil, err
	}
	if s.total += made.Size(); s.total > MaxMedia {
		s.total -= made.Size()
		return nil, fmt.Errorf("with it the library's own media take more than %d MB of memory; leave some out, or make pictures smaller (a recording takes 1 MB)", MaxMedia>>20)
	}
	s.made[by] = made
	return made, nil
}

func (s *mediaShelf) make(m *Medium, by makeBy) (*media.Medium, error) {
	if s.kept != nil {
		bytes, err := s.kept(by.file)
		if err != nil {
			return nil, fmt.Errorf("what it was is not kept: %w", err)
		}
		return media.Kept(bytes, m.Rate)
	}
	limit := int64(media.MaxPicture)
	if m.Sense() == media.Sound {
		limit = media.MaxSound
	}
	file, err := s.read(m.File, limit)
	if err != nil {
		return nil, err
	}
	return media.Make(m.kind(), file, m.Rate, by.level)
}

// loudAt is how loud a recording is made: as loud as ours is on average where the
// heart is heard from near, and elsewhere (measured).
func loudAt(step string) int {
	if i := slices.IndexFunc(ears, func(x ear) bool { return x.step == step }); i >= 0 && ears[i].heart >= 500 {
		return 1200
	}
	return 300
}

var mediumName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9 ._-]{0,99}$`)

// read reads a file of the last layer that has it. It follows no link: what is
// served must lie in the school's folder.
func (s *mediaShelf) read(file string, limit int64) ([]byte, error) {
	if !mediumName.MatchString(file) {
		return nil, fmt.Errorf("this should be the bare name of a file in %s/, of letters without accents, digits, dots, hyphens and spaces, such as willow-apex.wav", mediaDir)
	}
	name := path.Join(mediaDir, file)
	for _, f := range slices.Backward(s.layers) {
		info, err := fs.Lstat(f, name)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, fmt.Errorf("it cannot be read: %w", err)
		}
		if dir, err := fs.Lstat(f, mediaDir); err != nil || !dir.IsDir() || !info.Mode().IsRegular() {
			return nil, fmt.Errorf("%s is a link or no plain file; put the file itself there", name)
		}
		if info.Size() > limit {
			return nil, fmt.Errorf("it is %d bytes long; at most %d MB are read", info.Size(), limit>>20)
		}
		return readLimited(f, name, limit)
	}
	return nil, fmt.Errorf("there is no %s in the library%s", name, nearestOf(file, s.names()))
}

// names are the files of the folders of media, sorted, each once.
func (s *mediaShelf) names() []string {
	var out []string
	for _, f := range s.layers {
		entries, err := fs.ReadDir(f, mediaDir)
		if err != nil {
			continue // no folder, no files
		}
		for _, e := range entries {
			if !strings.HasPrefix(e.Name(), ".") {
				out = append(out, e.Name())
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// unused lists as broken every medium that no case names. It says nothing where
// a case could not be read, for that one may.
func (l *Library) unused(named map[string]bool, unread bool) {
	if unread {
		return
	}
	for _, file := range l.shelf().names() {
		if !named[file] {
			name := path.Join(mediaDir, file)
			l.broken = append(l.broken, BrokenFile{Name: name, Problems: []Problem{mark{file: name}.problem("no case uses this file; name it under media: in a case, or take it out of the folder")}})
		}
	}
}

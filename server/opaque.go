package server

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/binary"
	"fmt"
	"strconv"
	"strings"

	"dewclaw/cases"
	"dewclaw/server/face"
)

// opaqueBytes of an HMAC are 128 bits: no id can be guessed from a case's name.
const opaqueBytes = 16

var opaqueText = base32.StdEncoding.WithPadding(base32.NoPadding)

// mac keys a purpose and a text with the school's secret.
func (s *Server) mac(purpose, text string) []byte {
	h := hmac.New(sha256.New, s.secret)
	h.Write([]byte(purpose + "\x00" + text))
	return h.Sum(nil)
}

// opaque is the id under which a case is known outside: case ids and file
// names say too much.
func (s *Server) opaque(caseID string) string {
	return strings.ToLower(opaqueText.EncodeToString(s.mac("case", caseID)[:opaqueBytes]))
}

// phase is where in its rhythm a clip begins: anywhere, but the same at every
// request for one act, so that a player may ask for a part of it.
func (s *Server) phase(attempt string, n int) uint64 {
	return binary.BigEndian.Uint64(s.mac("phase", attempt+"/"+strconv.Itoa(n)))
}

// same compares two secrets without telling by time how much of them fits.
func same(a, b string) bool { return hmac.Equal([]byte(a), []byte(b)) }

// indexCases prepares the opaque ids and the public catalogues.
func (s *Server) indexCases() error {
	s.caseIDs, s.catalogues = map[string]string{}, map[string]*face.Catalogue{}
	for _, k := range s.library.Cases() {
		id := s.opaque(k.ID)
		if other, taken := s.caseIDs[id]; taken {
			return fmt.Errorf("cases %s and %s have the same opaque id", other, k.ID)
		}
		s.caseIDs[id] = k.ID
	}
	for _, species := range s.library.Species() {
		s.catalogues[species] = faceCatalogue(s.library.Catalogue(species))
	}
	return nil
}

// caseOf finds a case by its opaque id.
func (s *Server) caseOf(opaque string) (*cases.Case, error) {
	if k := s.library.Case(s.caseIDs[opaque]); k != nil {
		return k, nil
	}
	return nil, ErrMissing
}

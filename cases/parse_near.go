package cases

import (
	"fmt"
	"strings"
)

// nearestOf gives "; did you mean x?" or, where nothing is near, a short list.
func nearestOf(word string, known []string) string {
	if mean := didYouMean(word, known); mean != "" {
		return mean
	}
	if len(known) > 0 && len(known) <= 24 {
		return "; known are " + strings.Join(known, ", ")
	}
	return ""
}

// didYouMean gives "; did you mean x?" or nothing.
func didYouMean(word string, known []string) string {
	if word == "" {
		return ""
	}
	best, least := "", 1+len(word)/3
	for _, k := range known {
		if d := distance(strings.ToLower(word), strings.ToLower(k)); d <= least && (best == "" || d < least) {
			best, least = k, d
		}
	}
	if best == "" {
		best = containing(word, known)
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", best)
}

// containing finds a known id that holds the word, or that the word holds.
func containing(word string, known []string) string {
	if len(word) < 3 {
		return ""
	}
	for _, k := range known {
		if strings.Contains(k, word) || len(k) > 3 && strings.Contains(word, k) {
			return k
		}
	}
	return ""
}

// distance is the number of letters to change, add, drop or swap with their
// neighbour to make b of a.
func distance(a, b string) int {
	if len(a) > 80 || len(b) > 80 { // ids are shorter; this keeps a hostile file cheap
		return 80
	}
	before, last, this := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(a); i++ {
		this[0] = i
		for j := 1; j <= len(b); j++ {
			cost := 1
			if a[i-1] == b[j-1] {
				cost = 0
			}
			this[j] = min(last[j]+1, this[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				this[j] = min(this[j], before[j-2]+1)
			}
		}
		before, last, this = last, this, before
	}
	return last[len(b)]
}

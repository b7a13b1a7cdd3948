package trial

import (
	"math/big"
	"slices"

	"dewclaw/cases"
	"dewclaw/rubric"
)

// spread is a two-way table of totals, patient by stream of chance, taken apart:
// a patient's part is its D, a stream's part moves all patients alike, and what
// is left over is noise. Variances are in squared thousandths of a point.
type spread struct {
	mean     int64
	off      []int64   // by patient: how far the mean of its visits is from the mean of all
	observed int64     // variance of off, noise and all
	each     int64     // variance of what is left over, of one visit
	noise    int64     // the part of observed that is noise: each, a visit's share
	alone    [][]int64 // by patient and stream: how far a total is from the mean of its stream
	unsure   int64     // standard error of the real variance, by the choice of streams
}

// spreadOf takes a table apart. It needs two patients and three visits each, and
// holds up to 2,000 patients of 128 visits without overflow.
func spreadOf(totals [][]rubric.Points) spread {
	patients, visits := int64(len(totals)), int64(len(totals[0]))
	n := patients * visits
	sum := int64(0)
	for _, row := range totals {
		for _, x := range row {
			sum += int64(x)
		}
	}
	s := spread{mean: nearest(sum, n)}
	byStream := make([]int64, visits)
	var all, squares, rows, columns int64
	for _, row := range totals {
		own := int64(0)
		for j, x := range row {
			y := int64(x) - s.mean
			own += y
			byStream[j] += y
			squares += y * y
		}
		s.off = append(s.off, own)
		all += own
		rows += own * own
	}
	for _, y := range byStream {
		columns += y * y
	}
	rest := squares - rows/visits - columns/patients + all*all/n
	s.each = max(0, rest/((patients-1)*(visits-1)))
	s.noise = nearest(s.each, visits)
	for i, own := range s.off {
		s.off[i] = nearest(own*patients-all, n)
		line := make([]int64, visits)
		for j, x := range totals[i] {
			line[j] = int64(x) - s.mean - nearest(byStream[j], patients)
		}
		s.alone = append(s.alone, line)
	}
	s.observed = variance(s.off)
	s.unsure = s.jackknife()
	return s
}

// jackknife is the standard error of the real variance by the choice of streams:
// how much it changes where each stream in turn is left out (Quenouille and Tukey).
// Patients of one value may share their noise, and then are no more than one; so
// it is not the number of patients that makes a figure sure.
func (s *spread) jackknife() int64 {
	patients, visits := int64(len(s.alone)), int64(len(s.alone[0]))
	without := make([]int64, visits)
	sum := int64(0)
	for j := range without {
		for _, line := range s.alone {
			var own, squares int64
			for i, y := range line {
				if i != j {
					own += y
					squares += y * y
				}
			}
			without[j] += (own*own - squares) / ((visits - 1) * (visits - 2))
		}
		without[j] = nearest(without[j], (patients-1)*coarse)
		sum += without[j]
	}
	squares := int64(0)
	for _, x := range without {
		off := x - nearest(sum, visits)
		squares += off * off
	}
	return coarse * root(squares*(visits-1)/visits)
}

// coarse is the unit of variances in jackknife, so that their squares fit.
const coarse = 1000

// real is the variance of D: what is observed less what is noise.
func (s *spread) real() int64 { return max(0, s.observed-s.noise) }

// limits are between which SD lies, two standard errors of its square either way.
func (s *spread) limits() (low, high rubric.Points) {
	return rubric.Points(root(max(0, s.real()-2*s.unsure))), rubric.Points(root(s.real() + 2*s.unsure))
}

// sure says whether no more visits are needed: the noise is small, and SD plainly
// on one side of its limit.
func (s *spread) sure() bool {
	noise := rubric.Points(root(s.noise))
	low, high := s.limits()
	visits := len(s.alone[0])
	return (noise <= closeEnough || visits >= enoughVisits && noise <= mostNoise) && (low > MostSD || high <= MostSD)
}

// quiet is how far every patient's D is off the mean, drawn together so that
// their variance is that of D without the noise. Patients keep their order.
func (s *spread) quiet() []int64 {
	const fine = 1_000_000 // roots to thousandths of the unit
	out := make([]int64, len(s.off))
	if s.real() == 0 {
		return out
	}
	to, from := root(s.real()*fine), root(s.observed*fine)
	for i, x := range s.off {
		out[i] = nearest(x*to, from)
	}
	return out
}

// fill works everything out that the totals tell.
func (d *Draws) fill(totals [][]rubric.Points, drawn [][]cases.Drawn, seeds []cases.Seed) {
	s := spreadOf(totals)
	off := s.quiet()
	d.Visits = len(totals[0])
	d.Mean = rubric.Points(s.mean)
	d.SD, d.Noise = rubric.Points(root(s.real())), rubric.Points(root(s.noise))
	d.SDLow, d.SDHigh = s.limits()
	sorted := slices.Sorted(slices.Values(off))
	d.Width = rubric.Points(quantile(sorted, 950) - quantile(sorted, 50))
	var rest []int64
	d.Table = Table{Mean: d.Mean}
	for i, x := range off {
		row := Row{Seed: seeds[i], D: d.Mean + rubric.Points(x)}
		d.Table.Rows = append(d.Table.Rows, row)
		if d.Table.fits(row) {
			rest = append(rest, x)
		}
	}
	d.Excluded = len(off) - len(rest)
	d.RestSD = rubric.Points(root(variance(rest)))
	d.Fields = []FieldShare{}
	if d.SDLow > closeEnough {
		d.Fields = fieldShares(drawn, &s)
	}
	d.judge(&s, varies(drawn))
}

// variance is that of a sample, with one less than its number; 0 of fewer than two.
func variance(of []int64) int64 {
	n := int64(len(of))
	if n < 2 {
		return 0
	}
	var sum, squares int64
	for _, x := range of {
		sum += x
		squares += x * x
	}
	return (squares - sum*sum/n) / (n - 1)
}

// quantile is the one of so many thousandths of sorted numbers, on straight
// lines between neighbours (type 7 of Hyndman and Fan 1996).
func quantile(sorted []int64, thousandths int) int64 {
	at := (len(sorted) - 1) * thousandths
	i := at / 1000
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + nearest((sorted[i+1]-sorted[i])*int64(at%1000), 1000)
}

// nearest is a quotient rounded to the nearest whole number, halves away from
// zero; by must be positive.
func nearest(n, by int64) int64 {
	if n < 0 {
		return -nearest(-n, by)
	}
	return (n + by/2) / by
}

// root is the whole part of a square root.
func root(n int64) int64 { return new(big.Int).Sqrt(big.NewInt(n)).Int64() }

package cohort

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"
)

// How few students and cases of a whole exam reliability is told from; below that
// its interval is so wide that the figure misleads. The absolute standard error of
// measurement shows its own interval and is told from fewer (derived).
const (
	ReliableStudents = 30
	ReliableCases    = 6
	ErrorStudents    = 10
	ErrorCases       = 2
)

// Crossed is the analysis of variance of students who all did the same cases: one
// mark a student and case. (One facet, p x i, both random: Brennan,
// Generalizability Theory, 2001, from memory.) Mean squares are in squared units of
// the marks.
type Crossed struct {
	Students, Cases int
	Dropped         int // students left out because they miss a case
	BetweenStudents float64
	BetweenCases    float64
	Rest            float64
	// SD is that of the students' totals over all cases (n-1).
	SD float64
}

// Cross analyses marks, a row a student, a column a case; a row that misses a case
// is left out. It takes two students and two cases.
func Cross(marks [][]float64) (Crossed, Lack) {
	rows := whole(marks)
	c := Crossed{Students: len(rows), Dropped: len(marks) - len(rows)}
	if l := short(TooFewStudents, len(rows), 2); l.Why != "" {
		return c, l
	}
	c.Cases = len(rows[0])
	if l := short(TooFewCases, c.Cases, 2); l.Why != "" {
		return c, l
	}
	c.analyse(rows)
	return c, Lack{}
}

// analyse is the two-way analysis of variance with one mark a cell. What is nothing
// but rounding is 0.
func (c *Crossed) analyse(rows [][]float64) {
	totals, cases := make([]float64, c.Students), make([]float64, c.Cases)
	for i, row := range rows {
		totals[i] = floats.Sum(row)
		floats.Add(cases, row)
	}
	n, k := float64(c.Students), float64(c.Cases)
	all := slices.Concat(rows...)
	mean, squares := stat.Mean(all, nil), 0.0
	for i, row := range rows {
		for j, y := range row {
			d := y - totals[i]/k - cases[j]/n + mean
			squares += d * d
		}
	}
	c.SD = stat.StdDev(totals, nil)
	c.BetweenStudents = stat.Variance(totals, nil) / k
	c.BetweenCases = stat.Variance(cases, nil) / n
	c.Rest = squares / ((n - 1) * (k - 1))
	for _, ms := range []*float64{&c.BetweenStudents, &c.BetweenCases, &c.Rest} {
		if alike(*ms, all...) {
			*ms = 0
		}
	}
}

// whole are the rows that have a mark for each case.
func whole(marks [][]float64) [][]float64 {
	cases := 0
	for _, row := range marks {
		cases = max(cases, len(row))
	}
	var out [][]float64
	for _, row := range marks {
		if sum := floats.Sum(row); len(row) == cases && cases > 0 && !missing(sum) {
			out = append(out, row)
		}
	}
	return out
}

// Components are the variances of students, of cases, and of what is left, for one
// case, in squared units of the marks. They are as estimated: one may be negative
// by chance, and counts as 0 where it is used.
func (c Crossed) Components() (students, cases, rest float64) {
	return (c.BetweenStudents - c.Rest) / float64(c.Cases), (c.BetweenCases - c.Rest) / float64(c.Students), c.Rest
}

// freedom is the degrees of freedom of students, cases and the rest.
func (c Crossed) freedom() (students, cases, rest float64) {
	students, cases = float64(c.Students-1), float64(c.Cases-1)
	return students, cases, students * cases
}

// Alpha is that of Cronbach (Psychometrika 1951;16:297-334), with the interval of
// Feldt (Psychometrika 1965;30:357-370; both from memory). It may be negative.
func (c Crossed) Alpha(level float64) Estimate {
	if c.BetweenStudents == 0 {
		return lacking(Lack{Why: AllAlike})
	}
	left := c.Rest / c.BetweenStudents
	students, _, rest := c.freedom()
	f := distuv.F{D1: students, D2: rest}
	t := tail(level)
	return estimate(1-left, 1-left*f.Quantile(1-t), 1-left*f.Quantile(t))
}

// SEM is the standard error of measurement of a total over all cases that goes with
// alpha, SD x sqrt(1 - alpha), in the units of the marks. Its interval is that of
// the mean square it is the root of. A negative alpha counts as 0.
func (c Crossed) SEM(level float64) Estimate {
	if c.BetweenStudents == 0 {
		return lacking(Lack{Why: AllAlike})
	}
	students, _, rest := c.freedom()
	if c.Rest > c.BetweenStudents {
		return spread(c.SD*c.SD, students, level)
	}
	return spread(float64(c.Cases)*c.Rest, rest, level)
}

// spread is the root of a mean square with its chi-squared interval.
func spread(square, free, level float64) Estimate {
	chi, t := distuv.ChiSquared{K: free}, tail(level)
	return estimate(math.Sqrt(square), math.Sqrt(square*free/chi.Quantile(1-t)), math.Sqrt(square*free/chi.Quantile(t)))
}

// G is how far the order of the students would be the same in another exam of as
// many cases, 0 to 1. The interval is exact for normal marks, from the ratio of two
// mean squares (as ICC(3,k) of Shrout and Fleiss, Psychol Bull 1979;86:420-428).
func (c Crossed) G(cases int, level float64) Estimate {
	if l := c.nothingToTell(cases); l.Why != "" {
		return lacking(l)
	}
	students, _, rest := c.freedom()
	f, t := distuv.F{D1: students, D2: rest}, tail(level)
	single := func(quantile float64) float64 {
		q := quantile * c.Rest
		return (c.BetweenStudents - q) / (c.BetweenStudents + (float64(c.Cases)-1)*q)
	}
	return lengthened(cases, single(1), single(f.Quantile(1-t)), single(f.Quantile(t)))
}

// Phi is how far the marks themselves would be the same in another exam of as many
// cases, 0 to 1: unlike G it counts against the exam that cases differ. The interval
// is that of ICC(2,k) of Shrout and Fleiss, by Satterthwaite's degrees of freedom.
// Where the cases do not differ Phi is G.
func (c Crossed) Phi(cases int, level float64) Estimate {
	if l := c.nothingToTell(cases); l.Why != "" {
		return lacking(l)
	}
	between, apart, rest := c.Components()
	if apart <= 0 {
		return c.G(cases, level)
	}
	single := between / (between + apart + rest)
	n, k := float64(c.Students), float64(c.Cases)
	// Both weights are times the rest, so that there may be none.
	u, v := k*single*c.BetweenCases, (n*(1+(k-1)*single)-k*single)*c.Rest
	free := (k - 1) * (n - 1) * (u + v) * (u + v) / ((n-1)*u*u + v*v)
	t := tail(level)
	up := distuv.F{D1: n - 1, D2: free}.Quantile(1 - t)
	down := distuv.F{D1: free, D2: n - 1}.Quantile(1 - t)
	noise := k*c.BetweenCases + (k*n-k-n)*c.Rest
	low := n * (c.BetweenStudents - up*c.Rest) / (up*noise + n*c.BetweenStudents)
	high := n * (down*c.BetweenStudents - c.Rest) / (noise + n*down*c.BetweenStudents)
	return lengthened(cases, single, low, high)
}

// nothingToTell says why there is no G and no Phi.
func (c Crossed) nothingToTell(cases int) Lack {
	switch {
	case cases < 1:
		return Lack{Why: TooFewCases, Have: cases, Need: 1}
	case c.BetweenStudents == 0:
		return Lack{Why: AllAlike}
	case c.BetweenStudents <= c.Rest:
		return Lack{Why: NoDifference}
	}
	return Lack{}
}

// lengthened carries the reliability of one case and its interval to an exam of
// some cases (Spearman and Brown 1910). Below 0 there is nothing.
func lengthened(cases int, single, low, high float64) Estimate {
	long := func(r float64) float64 {
		r = max(0, r)
		return float64(cases) * r / (1 + float64(cases-1)*r)
	}
	return estimate(long(single), long(low), long(high))
}

// AbsoluteSEM is the standard error of measurement of a student's mean over so many
// cases, for a mark that is held against a pass mark: cases that are hard count as
// error too. It is in the units of a mark; of a total it is as many times more as
// there are cases. Satterthwaite's interval (Biometrics 1946;2:110-114, from memory).
func (c Crossed) AbsoluteSEM(cases int, level float64) Estimate {
	if l := short(TooFewCases, cases, 1); l.Why != "" {
		return lacking(l)
	}
	if c.BetweenCases == 0 && c.Rest == 0 {
		return lacking(Lack{Why: AllAlike})
	}
	_, apart, free := c.freedom()
	n := float64(c.Students)
	// (variance of cases + rest) is the sum of two mean squares, each with its
	// weight; where the first would be negative it is the rest alone.
	a, b := c.BetweenCases/n, c.Rest*(n-1)/n
	if c.BetweenCases <= c.Rest {
		a, b = 0, c.Rest
	}
	square := a + b
	return spread(square/float64(cases), square*square/(a*a/apart+b*b/free), level)
}

// Reliability is what is told of a whole exam.
type Reliability struct {
	Students, Cases int
	Dropped         int      // students left out because they miss a case
	Alpha           Estimate // from 30 students and 6 cases, and so SEM, G and Phi
	SEM             Estimate // of a total, relative
	G, Phi          Estimate
	AbsoluteSEM     Estimate // of a total; from 10 students and 2 cases
}

// Reliable draws the reliability of a whole exam from the marks, a row a student, a
// column a case, with intervals of 95 %. Everything that is not told says why.
func Reliable(marks [][]float64) Reliability {
	c, _ := Cross(marks)
	r := Reliability{Students: c.Students, Cases: c.Cases, Dropped: c.Dropped}
	if l := few(c, ReliableStudents, ReliableCases); l.Why != "" {
		none := lacking(l)
		r.Alpha, r.SEM, r.G, r.Phi = none, none, none, none
	} else {
		r.Alpha, r.SEM = c.Alpha(Level95), c.SEM(Level95)
		r.G, r.Phi = c.G(c.Cases, Level95), c.Phi(c.Cases, Level95)
	}
	if l := few(c, ErrorStudents, ErrorCases); l.Why != "" {
		r.AbsoluteSEM = lacking(l)
		return r
	}
	r.AbsoluteSEM = c.AbsoluteSEM(c.Cases, Level95)
	if k := float64(c.Cases); r.AbsoluteSEM.Known() {
		r.AbsoluteSEM = estimate(k*r.AbsoluteSEM.Value, k*r.AbsoluteSEM.Low, k*r.AbsoluteSEM.High)
	}
	return r
}

// few says what there is too little of.
func few(c Crossed, students, cases int) Lack {
	if l := short(TooFewStudents, c.Students, students); l.Why != "" {
		return l
	}
	return short(TooFewCases, c.Cases, cases)
}

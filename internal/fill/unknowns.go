package fill

import (
	_ "embed"
	"encoding/json"
	"math"

	"gonum.org/v1/gonum/mat"
)

// The unknowns of a studio: what differs from one clay and hand to another and
// nobody has measured. None depends on thickness, posture or size.
const (
	interfaceH = iota
	stopSolid
	weldSolid
	gasPressure
	pourTime
	mixingLength
	unknowns
)

// unknown is one of them with the range that physics leaves it.
type unknown struct {
	Name      string
	Unit      string
	Low, High float64 // nine in ten lie between
	Share     bool    // a fraction, carried as its logit; else as its logarithm
	Why       string
}

var unknownTable = [unknowns]unknown{
	{"heat taken by the clay at the wall", "W/(m² K)", 300, 1500, false, "silicate sand 300 to 1500; none measured in oil-bonded clay"},
	{"solid fraction at which a front stops", "", 0.08, 0.40, true, "0.2 to 0.35 for mushy freezing (Flemings 1974, from memory), 0.35 to 0.40 measured for Al-7Si-0.3Mg; thin oxide-laden streams stop sooner"},
	{"solid fraction above which streams do not weld", "", 0.10, 0.55, true, "from all but liquid to the coherency of dendrites; no measurement found"},
	{"gas pressure of the clay", "Pa", 100, 1000, false, "oil and binder smoke; bubbling through the metal needs 9 Pa per 0.1 mm of silver, and metal that boils quietly holds under a funnel's head of 1000 Pa"},
	{"time of a hand for 60 g of silver", "s", 0.9, 1.9, false, "tipped in one go: about a second to a second and a half"},
	{"mixing length of a tip", "m", 1e-3, 10e-3, false, "from the thickness of a channel to some five of it; G. I. Taylor's dispersion in turbulent flow, ten hydraulic radii times the friction speed, is about one thickness"},
}

// toPlain carries a value to the scale on which the unknown is normal.
func (u *unknown) toPlain(v float64) float64 {
	if u.Share {
		return math.Log(v / (1 - v))
	}
	return math.Log(v)
}

func (u *unknown) fromPlain(x float64) float64 {
	if u.Share {
		return 1 / (1 + math.Exp(-x))
	}
	return math.Exp(x)
}

const ninety = 1.6449 // standard deviations on either side

// physical returns the middle and the standard deviation that the range of
// physics alone gives, on the plain scale: nine in ten inside it.
func (u *unknown) physical() (mean, sd float64) {
	lo, hi := u.toPlain(u.Low), u.toPlain(u.High)
	return (lo + hi) / 2, (hi - lo) / 2 / ninety
}

// Belief is what is held of a studio's unknowns: a normal distribution on
// their plain scales.
type Belief struct {
	Mean  []float64 `json:"mean"`
	Lower []float64 `json:"lower"` // triangle, row by row, of the Cholesky factor of their covariance
}

// at returns the plain values at a standard normal point.
func (b *Belief) at(z []float64) (x [unknowns]float64) {
	k := 0
	for i := range unknowns {
		x[i] = b.Mean[i]
		for j := range i + 1 {
			x[i] += b.Lower[k] * z[j]
			k++
		}
	}
	return x
}

// logDensity up to a constant.
func (b *Belief) logDensity(x [unknowns]float64) float64 {
	sum, k := 0.0, 0
	var z [unknowns]float64
	for i := range unknowns {
		v := x[i] - b.Mean[i]
		for j := range i {
			v -= b.Lower[k] * z[j]
			k++
		}
		z[i] = v / b.Lower[k]
		sum -= z[i]*z[i]/2 + math.Log(b.Lower[k])
		k++
	}
	return sum
}

// values carries plain values to physical ones.
func values(x [unknowns]float64) (v [unknowns]float64) {
	for i := range unknowns {
		v[i] = unknownTable[i].fromPlain(x[i])
	}
	return v
}

// covariance returns the weighted mean and covariance of points.
func covariance[P [unknowns]float64 | [studioDims]float64](points []P, weight []float64) ([]float64, *mat.SymDense) {
	n := len(points[0])
	mean, total := make([]float64, n), 0.0
	for i := range points {
		total += weight[i]
		for k := range n {
			mean[k] += weight[i] * points[i][k]
		}
	}
	for k := range mean {
		mean[k] /= total
	}
	cov := mat.NewSymDense(n, nil)
	for i := range points {
		for a := range n {
			for b := range a + 1 {
				cov.SetSym(a, b, cov.At(a, b)+weight[i]/total*(points[i][a]-mean[a])*(points[i][b]-mean[b]))
			}
		}
	}
	for k := range n {
		cov.SetSym(k, k, cov.At(k, k)+1e-8)
	}
	return mean, cov
}

// moments returns the belief with the weighted mean and covariance of points.
func moments(points [][unknowns]float64, weight []float64) Belief {
	mean, cov := covariance(points, weight)
	var chol mat.Cholesky
	chol.Factorize(cov)
	var l mat.TriDense
	chol.LTo(&l)
	out := Belief{Mean: mean, Lower: make([]float64, 0, unknowns*(unknowns+1)/2)}
	for a := range unknowns {
		for b := range a + 1 {
			out.Lower = append(out.Lower, l.At(a, b))
		}
	}
	return out
}

//go:embed prior.json
var priorRecord []byte

// Record is how the prior came about, as `pourwright prior` writes it.
type Record struct {
	Belief    Belief       `json:"belief"`
	Studios   int          `json:"studios"`
	Pours     int          `json:"pours_each"`
	Effective float64      `json:"effective_studios"`
	Unknowns  []UnknownFit `json:"unknowns"`
	Evidence  []RowFit     `json:"evidence"`
}

// UnknownFit is an unknown by physics alone and with practice: 5, 50 and 95 %.
type UnknownFit struct {
	Name     string     `json:"name"`
	Unit     string     `json:"unit"`
	Why      string     `json:"range_because"`
	Physics  [3]float64 `json:"physics"`
	Practice [3]float64 `json:"with_practice"`
}

// RowFit is a row of practice against the prior with and without it, per cent.
type RowFit struct {
	Row     string       `json:"row"`
	Cases   []string     `json:"cases"`
	Band    [][2]float64 `json:"band"`
	With    []float64    `json:"with"`
	Without []float64    `json:"left_out"`
	Holds   bool         `json:"holds_left_out"`
}

// record reads it.
func record() (r Record, err error) { return r, json.Unmarshal(priorRecord, &r) }

var prior = func() Belief {
	r, err := record()
	if err != nil {
		panic(err)
	}
	return r.Belief
}()

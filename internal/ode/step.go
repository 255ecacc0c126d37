package ode

import "math"

// try takes one step of h from s.T, s.Y with slope s.k[0]: the stages, the result
// in s.next with its slope in s.k[12], and the error in units of the tolerance.
func (s *Solver) try(h float64) float64 {
	if s.n == 1 {
		return s.tryOne(h)
	}
	k, y, n := &s.k, &s.Y, s.n
	w := &s.work
	for i := range n {
		w[i] = y[i] + h*(a0201*k[0][i])
	}
	s.f(s.T+c02*h, w, &k[1])
	for i := range n {
		w[i] = y[i] + h*(a0301*k[0][i]+a0302*k[1][i])
	}
	s.f(s.T+c03*h, w, &k[2])
	for i := range n {
		w[i] = y[i] + h*(a0401*k[0][i]+a0403*k[2][i])
	}
	s.f(s.T+c04*h, w, &k[3])
	for i := range n {
		w[i] = y[i] + h*(a0501*k[0][i]+a0503*k[2][i]+a0504*k[3][i])
	}
	s.f(s.T+c05*h, w, &k[4])
	for i := range n {
		w[i] = y[i] + h*(a0601*k[0][i]+a0604*k[3][i]+a0605*k[4][i])
	}
	s.f(s.T+c06*h, w, &k[5])
	for i := range n {
		w[i] = y[i] + h*(a0701*k[0][i]+a0704*k[3][i]+a0705*k[4][i]+a0706*k[5][i])
	}
	s.f(s.T+c07*h, w, &k[6])
	for i := range n {
		w[i] = y[i] + h*(a0801*k[0][i]+a0804*k[3][i]+a0805*k[4][i]+a0806*k[5][i]+a0807*k[6][i])
	}
	s.f(s.T+c08*h, w, &k[7])
	for i := range n {
		w[i] = y[i] + h*(a0901*k[0][i]+a0904*k[3][i]+a0905*k[4][i]+a0906*k[5][i]+a0907*k[6][i]+a0908*k[7][i])
	}
	s.f(s.T+c09*h, w, &k[8])
	for i := range n {
		w[i] = y[i] + h*(a1001*k[0][i]+a1004*k[3][i]+a1005*k[4][i]+a1006*k[5][i]+a1007*k[6][i]+a1008*k[7][i]+a1009*k[8][i])
	}
	s.f(s.T+c10*h, w, &k[9])
	for i := range n {
		w[i] = y[i] + h*(a1101*k[0][i]+a1104*k[3][i]+a1105*k[4][i]+a1106*k[5][i]+a1107*k[6][i]+a1108*k[7][i]+a1109*k[8][i]+a1110*k[9][i])
	}
	s.f(s.T+c11*h, w, &k[10])
	for i := range n {
		w[i] = y[i] + h*(a1201*k[0][i]+a1204*k[3][i]+a1205*k[4][i]+a1206*k[5][i]+a1207*k[6][i]+a1208*k[7][i]+a1209*k[8][i]+a1210*k[9][i]+a1211*k[10][i])
	}
	s.f(s.T+h, w, &k[11])
	for i := range n {
		w[i] = y[i] + h*(a1301*k[0][i]+a1306*k[5][i]+a1307*k[6][i]+a1308*k[7][i]+a1309*k[8][i]+a1310*k[9][i]+a1311*k[10][i]+a1312*k[11][i])
	}
	s.next = *w
	s.f(s.T+h, w, &k[12])
	sc := &s.sc
	s.scale(y, &s.next, sc)
	e5, e3 := 0.0, 0.0
	for i := range n {
		a := (e01*k[0][i] + e06*k[5][i] + e07*k[6][i] + e08*k[7][i] + e09*k[8][i] + e10*k[9][i] + e11*k[10][i] + e12*k[11][i]) / sc[i]
		b := ((a1301-bh01)*k[0][i] + a1306*k[5][i] + a1307*k[6][i] + a1308*k[7][i] + (a1309-bh09)*k[8][i] + a1310*k[9][i] + a1311*k[10][i] + (a1312-bh12)*k[11][i]) / sc[i]
		e5 += a * a
		e3 += b * b
	}
	if e5 == 0 {
		return 0
	}
	return h * e5 / math.Sqrt((e5+0.01*e3)*float64(n))
}

// tryOne is try for one unknown: a third of its time. It takes a step of h from s.T, s.Y with slope s.k[0]: the stages, the result
// in s.next with its slope in s.k[12], and the error in units of the tolerance.
func (s *Solver) tryOne(h float64) float64 {
	k, y := &s.k, &s.Y
	w := &s.work
	w[0] = y[0] + h*(a0201*k[0][0])
	s.f(s.T+c02*h, w, &k[1])
	w[0] = y[0] + h*(a0301*k[0][0]+a0302*k[1][0])
	s.f(s.T+c03*h, w, &k[2])
	w[0] = y[0] + h*(a0401*k[0][0]+a0403*k[2][0])
	s.f(s.T+c04*h, w, &k[3])
	w[0] = y[0] + h*(a0501*k[0][0]+a0503*k[2][0]+a0504*k[3][0])
	s.f(s.T+c05*h, w, &k[4])
	w[0] = y[0] + h*(a0601*k[0][0]+a0604*k[3][0]+a0605*k[4][0])
	s.f(s.T+c06*h, w, &k[5])
	w[0] = y[0] + h*(a0701*k[0][0]+a0704*k[3][0]+a0705*k[4][0]+a0706*k[5][0])
	s.f(s.T+c07*h, w, &k[6])
	w[0] = y[0] + h*(a0801*k[0][0]+a0804*k[3][0]+a0805*k[4][0]+a0806*k[5][0]+a0807*k[6][0])
	s.f(s.T+c08*h, w, &k[7])
	w[0] = y[0] + h*(a0901*k[0][0]+a0904*k[3][0]+a0905*k[4][0]+a0906*k[5][0]+a0907*k[6][0]+a0908*k[7][0])
	s.f(s.T+c09*h, w, &k[8])
	w[0] = y[0] + h*(a1001*k[0][0]+a1004*k[3][0]+a1005*k[4][0]+a1006*k[5][0]+a1007*k[6][0]+a1008*k[7][0]+a1009*k[8][0])
	s.f(s.T+c10*h, w, &k[9])
	w[0] = y[0] + h*(a1101*k[0][0]+a1104*k[3][0]+a1105*k[4][0]+a1106*k[5][0]+a1107*k[6][0]+a1108*k[7][0]+a1109*k[8][0]+a1110*k[9][0])
	s.f(s.T+c11*h, w, &k[10])
	w[0] = y[0] + h*(a1201*k[0][0]+a1204*k[3][0]+a1205*k[4][0]+a1206*k[5][0]+a1207*k[6][0]+a1208*k[7][0]+a1209*k[8][0]+a1210*k[9][0]+a1211*k[10][0])
	s.f(s.T+h, w, &k[11])
	w[0] = y[0] + h*(a1301*k[0][0]+a1306*k[5][0]+a1307*k[6][0]+a1308*k[7][0]+a1309*k[8][0]+a1310*k[9][0]+a1311*k[10][0]+a1312*k[11][0])
	s.next = *w
	s.f(s.T+h, w, &k[12])
	sc := &s.sc
	s.scale(y, &s.next, sc)
	a := (e01*k[0][0] + e06*k[5][0] + e07*k[6][0] + e08*k[7][0] + e09*k[8][0] + e10*k[9][0] + e11*k[10][0] + e12*k[11][0]) / sc[0]
	b := ((a1301-bh01)*k[0][0] + a1306*k[5][0] + a1307*k[6][0] + a1308*k[7][0] + (a1309-bh09)*k[8][0] + a1310*k[9][0] + a1311*k[10][0] + (a1312-bh12)*k[11][0]) / sc[0]
	e5, e3 := a*a, b*b
	if e5 == 0 {
		return 0
	}
	return h * e5 / math.Sqrt((e5 + 0.01*e3))
}

// interpolate works out the polynomial of the last step.
func (s *Solver) interpolate() {
	k, y, n, h := &s.k, &s.old, s.n, s.T-s.from
	w := &s.work
	for i := range n {
		w[i] = y[i] + h*(a1401*k[0][i]+a1407*k[6][i]+a1408*k[7][i]+a1409*k[8][i]+a1410*k[9][i]+a1411*k[10][i]+a1412*k[11][i]+a1413*k[12][i])
	}
	s.f(s.from+c14*h, w, &k[13])
	for i := range n {
		w[i] = y[i] + h*(a1501*k[0][i]+a1506*k[5][i]+a1507*k[6][i]+a1508*k[7][i]+a1511*k[10][i]+a1512*k[11][i]+a1513*k[12][i]+a1514*k[13][i])
	}
	s.f(s.from+c15*h, w, &k[14])
	for i := range n {
		w[i] = y[i] + h*(a1601*k[0][i]+a1606*k[5][i]+a1607*k[6][i]+a1608*k[7][i]+a1609*k[8][i]+a1613*k[12][i]+a1614*k[13][i]+a1615*k[14][i])
	}
	s.f(s.from+c16*h, w, &k[15])
	for i := range n {
		dy := s.Y[i] - y[i]
		s.p[0][i], s.p[1][i], s.p[2][i] = dy, h*k[0][i]-dy, 2*dy-h*(k[12][i]+k[0][i])
		s.p[3][i] = h * (d401*k[0][i] + d406*k[5][i] + d407*k[6][i] + d408*k[7][i] + d409*k[8][i] + d410*k[9][i] + d411*k[10][i] + d412*k[11][i] + d413*k[12][i] + d414*k[13][i] + d415*k[14][i] + d416*k[15][i])
		s.p[4][i] = h * (d501*k[0][i] + d506*k[5][i] + d507*k[6][i] + d508*k[7][i] + d509*k[8][i] + d510*k[9][i] + d511*k[10][i] + d512*k[11][i] + d513*k[12][i] + d514*k[13][i] + d515*k[14][i] + d516*k[15][i])
		s.p[5][i] = h * (d601*k[0][i] + d606*k[5][i] + d607*k[6][i] + d608*k[7][i] + d609*k[8][i] + d610*k[9][i] + d611*k[10][i] + d612*k[11][i] + d613*k[12][i] + d614*k[13][i] + d615*k[14][i] + d616*k[15][i])
		s.p[6][i] = h * (d701*k[0][i] + d706*k[5][i] + d707*k[6][i] + d708*k[7][i] + d709*k[8][i] + d710*k[9][i] + d711*k[10][i] + d712*k[11][i] + d713*k[12][i] + d714*k[13][i] + d715*k[14][i] + d716*k[15][i])
	}
}

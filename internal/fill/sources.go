package fill

import "pourwright/internal/calc"

// What the model rests on.
var sources = []calc.Source{
	{For: "heat from metal to clay", Text: "H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed. 1959, sections 2.7 and 13.5: semi-infinite solid behind a contact resistance; heat flow round a cylinder", Status: calc.FromMemory},
	{For: "flow until the tip chokes", Text: "M. C. Flemings, Solidification Processing, 1974, ch. 7; Brit. Foundryman 57 (1964) 312", Status: calc.FromMemory},
	{For: "interface coefficient 500 to 1500 W/(m² K)", Text: "710 at its peak for Al-4.5Cu in silicate sand (S. N. Kulkarni, K. Radhakrishna, Mater. Sci.-Poland 23 (2005) no. 3); 500 to 3300 implied by published flow lengths; none measured in oil-bonded clay", Status: calc.Choice},
	{For: "solid fraction that stops a front", Text: "0.2 to 0.35 for mushy freezing, more for pure metals and eutectics (Flemings 1974); 0.35 to 0.40 measured for Al-7Si-0.3Mg (K. Mu, M. Nikawa, M. Yamashita, Electronics 12 (2023) 365)", Status: calc.FromMemory},
	{For: "solid fraction at which streams still weld", Text: "a tenth: the metal at the meeting is still all but liquid; no measurement found", Status: calc.Choice},
	{For: "surface tension against a front", Text: "Young and Laplace, γ |cos θ| × perimeter/area; contact angle 140°, from 120 to 180° reported on oxide moulds", Status: calc.FromMemory},
	{For: "gas through clay and vents", Text: "Darcy; AFS permeability number, 3.08e-13 m² each with air at 25 °C; Hagen-Poiseuille in the vents", Status: calc.Computed},
	{For: "permeability of oil-bonded clay", Text: "AFS 10 to 40 for fine oil-bonded facings", Status: calc.FromMemory},
	{For: "heat diffusivity of oil-bonded clay", Text: "760 to 1350 W √s/(m² K) for k 0.4 to 0.9, ρ 1450 to 1700, c 1000 to 1200; no measurement found", Status: calc.Choice},
	{For: "scatter of pour temperature, rate and thickness", Text: "20 K, 30 % and 0.06 mm: what a hand torch, a hand pour and a hand-pressed impression hold; set your own", Status: calc.Choice},
	{For: "freezing time and modulus", Text: "N. Chvorinov, Giesserei 27 (1940); M. P. Groover, Fundamentals of Modern Manufacturing, ch. 10", Status: calc.Confirmed},
	{For: "feeder modulus 1.2 of what it feeds", Text: "riser rule of foundry practice", Status: calc.Practice},
	{For: "stirring of the pool under a stream", Text: "six diameters, the length of a turbulent jet's potential core", Status: calc.FromMemory},
	{For: "mixing along a running column", Text: "G. I. Taylor, Proc. R. Soc. A 219 (1953) 186 and 223 (1954) 446", Status: calc.FromMemory},
	{For: "wall losses", Text: "Hagen-Poiseuille and H. Blasius 1913; velocity heads 0.5 for the mouth and 1.1 for the turn, handbook values", Status: calc.FromMemory},
	{For: "hotter to 150 K over the liquidus, mould warm to 90 °C", Text: "50 to 150 K for silver and gold in small moulds, from memory; an oil-bonded mould well below smoking oil", Status: calc.Practice},
	{For: "a tenth of the piece cut off is shrinkage; effort of a lever", Text: "our estimates; read the hot spots and choose your own order", Status: calc.Choice},
	{For: "holding the flask with a factor of 3", Text: "a sudden load acts double; the rest for an uneven clamp", Status: calc.Practice},
	{For: "scattered sampling", Text: "S. Joe, F. Y. Kuo, SIAM J. Sci. Comput. 30 (2008) 2635; A. B. Owen 1995 scrambling", Status: calc.FromMemory},
}

var (
	srcInformation = calc.Source{For: "expected gain of information", Text: "D. V. Lindley, Ann. Math. Statist. 27 (1956) 986; C. E. Shannon 1948", Status: calc.FromMemory}
	srcMeltLoss    = calc.Source{For: "2 % lost in melting", Text: "1 to 3 % of what is melted", Status: calc.Practice}
)

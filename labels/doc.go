// Package labels prints the sheets of the shop: job cards, labels for boxes, the
// scanner test card, badges, machine plates, action sheets, and what is stuck on
// devices or hung up beside them, as PDF, and single QR codes as SVG. It knows nothing of the record: callers fill plain structs.
//
// Lengths are millimetres and type sizes are points unless a name says
// otherwise. The same input always gives the same bytes.
//
// # What soiled codes survive
//
// Oil lets what is printed show through, paint hides it. A code is lost where paint lies
// over one of its three corner squares, however little it is: of the card's main code
// about one in five at any place of 5 % is. The code in letters beside it is for that.
//
// Reading proof begins.
//
// Of 24 damaged prints a cell (150, 203 and 300 dpi, 1-bit and grey, seed 15434), read by zbar /
// gozxing / either, per cent:
//
//	                 clean       oil 5 %     oil 10 %    oil 16 %    paint 5 %   paint 10 %  paint 16 %  spots 5 %   blur        fold        tilt        dim
//	card             100/100/100 100/100/100 100/100/100 100/100/100 79/75/79    79/79/79    87/66/91    58/37/58    50/83/83    100/91/100  100/91/100  62/100/100
//	operation        100/100/100 100/83/100  100/91/100  100/87/100  79/58/79    41/16/41    8/0/8       66/29/66    33/66/83    79/62/83    91/16/91    100/29/100
//	badge            100/100/100 100/66/100  100/75/100  100/87/100  83/54/83    50/25/50    41/20/41    79/20/79    83/100/100  83/58/83    91/16/91    58/50/66
//	machine label    100/100/100 100/87/100  100/91/100  100/75/100  79/54/79    45/29/45    25/4/25     87/29/91    100/66/100  95/62/95    100/16/100  0/16/16
//	action           100/100/100 100/91/100  100/95/100  100/83/100  79/50/79    58/33/58    20/0/20     79/25/79    50/100/100  91/66/91    95/16/95    62/100/100
//	label 100x50     100/100/100 100/100/100 100/100/100 100/91/100  75/70/75    79/70/79    75/70/79    50/33/50    54/50/66    100/91/100  100/91/100  87/58/100
//	label 100x150    100/100/100 100/100/100 100/95/100  100/100/100 79/70/79    83/75/83    75/58/75    50/37/50    66/66/100   95/83/95    100/91/100  54/41/66
//	label 62         100/100/100 100/95/100  100/100/100 100/100/100 66/62/66    87/75/87    75/54/75    58/33/58    83/50/100   100/91/100  100/87/100  87/91/100
//	second, 100x50   100/83/100  100/83/100  100/83/100  100/83/100  70/66/79    54/58/62    0/0/0       45/41/50    0/16/16     83/58/83    83/70/83    95/16/95
//	second, 100x150  100/100/100 100/100/100 100/100/100 100/100/100 75/87/87    70/75/75    0/0/0       54/58/58    50/50/66    95/91/95    100/95/100  95/58/100
//	second, 62       100/83/100  100/83/100  100/83/100  100/83/100  70/66/79    54/58/62    0/0/0       45/41/50    0/16/16     83/58/83    83/70/83    95/16/95
//	scanner test     100/100/100 100/95/100  100/100/100 100/95/100  83/87/87    83/83/87    45/50/58    58/50/62    66/66/100   100/91/100  100/91/100  33/79/79
//	device           100/100/100 100/100/100 100/100/100 100/91/100  79/75/79    83/70/83    33/25/33    41/37/45    66/66/83    100/91/100  100/100/100 87/58/100
//	trust            100/100/100 100/100/100 100/100/100 100/95/100  70/66/70    75/66/75    29/45/50    50/41/54    83/66/83    100/91/100  100/100/100 0/50/50
//
// Reading proof ends.
package labels

# Draws the curves in curves.dat: gnuplot -persist curves.gp
# For a file: set terminal pdfcairo noenhanced; set output 'curves.pdf'
set encoding utf8
set datafile separator "\t"
set grid
set key bottom left
set xrange [0.000000:463.6266]
set xlabel 'Flow, L/min' noenhanced
set multiplot layout 3,1
set title 'DN-1507' noenhanced
set ylabel 'Head, m' noenhanced
set yrange [0.000000:93.02453]
plot NaN notitle, \
     'curves.dat' index 2 using 1:3:4 with filledcurves fillcolor 'light-gray' title '95 % band', \
     '' index 2 using 1:2 with lines title 'fitted', \
     '' index 0 using 1:2 with points title 'measured', \
     '' index 1 using 1:2 with points title 'not fitted', \
     '' index 3 using 1:2 with lines title 'guarantee and tolerance'
unset title
set ylabel 'Efficiency, %' noenhanced
set yrange [0.000000:75.24834]
plot NaN notitle, \
     'curves.dat' index 2 using 1:5 with lines title 'set', \
     '' index 2 using 1:6 with lines title 'pump', \
     '' index 0 using 1:3 with points title 'set, measured', \
     '' index 0 using 1:4 with points title 'pump, measured'
set ylabel 'Input power, kW' noenhanced
set yrange [0.000000:6.318870]
plot NaN notitle, 'curves.dat' index 2 using 1:7 with lines title 'fitted', \
     '' index 0 using 1:5 with points title 'measured'
unset multiplot

"""The units that people write land, boxes and the sky in, as pint defines units.

Its own list has a thousand more, down to those of particles, and takes a fifth of a second to read
whenever a command starts. Factors are exact. Feet, chains, acres and their like: NIST Special
Publication 811 (2008), appendix B. Nautical mile: SI brochure, 8th edition, table 8.
"""

from __future__ import annotations

DEFINITIONS = """
kilo- = 1000 = k-
centi- = 0.01 = c-
milli- = 0.001 = m-

meter = [length] = m = metre
inch = 0.0254 * meter = in = inches
foot = 12 * inch = ft = feet = international_foot
yard = 3 * foot = yd = international_yard
mile = 5280 * foot = mi = international_mile
nautical_mile = 1852 * meter = nmi
survey_foot = 1200 / 3937 * meter = us_survey_ft = US_survey_foot = us_survey_foot = sft
survey_mile = 5280 * survey_foot = us_survey_mile = US_survey_mile
rod = 16.5 * survey_foot = rd
chain = 4 * rod = ch
furlong = 40 * rod = fur
fathom = 6 * survey_foot

are = 100 * meter ** 2
hectare = 100 * are = ha
acre = 10 * chain ** 2
square_foot = foot ** 2 = sq_ft
square_mile = mile ** 2 = sq_mi

second = [time] = s = sec
minute = 60 * second = min
hour = 60 * minute = h = hr
day = 24 * hour = d
week = 7 * day

degree = [] = deg = ° = arcdeg
arcminute = degree / 60 = arcmin
arcsecond = arcminute / 60 = arcsec
gradian = 0.9 * degree = grad = gon
turn = 360 * degree
radian = 180 / 3.14159265358979323846264338327950288419716939937510 * degree = rad

percent = 0.01 = %
permille = 0.001 = ‰
ppm = 1e-6

watt = [power] = W
"""

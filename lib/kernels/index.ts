export { meansBesideSine } from "./alongCourses";
export { besideSine, sineValues } from "./alongSine";
export { averages, valueAverages } from "./averages";
export { codeBounds, isPossible } from "./codeBounds";
export { addCodeCounts, codeExtent, railedReadings } from "./codeCounts";
export { curveExtremes, curveGaps, intervalColumns } from "./codeCurve";
export { bestCompression } from "./compressedSine";
export { fitAboutLevel, fitPiece, followDoubled } from "./doubledReadings";
export { onLine, runningSums } from "./elementwise";
export { blockEnvelope, columnEnvelope, largestPlaces } from "./envelopes";
export { equalRuns } from "./equalRuns";
export { errorDraws } from "./errorDraws";
export { crowdAbove, extremeCandidates, highestApart, independentExcesses, simultaneousBounds } from "./extremes";
export { tailDistances } from "./extremesShape";
export { besideHarmonics, foldedHarmonicSums, harmonicProducts, harmonicSums, harmonicTable } from "./harmonics";
export { expectedCounts, gapSquares, largestDifference, plainTransitions } from "./histogramCurve";
export { histogramExcesses } from "./histogramExtremes";
export { directionDifference } from "./hysteresis";
export { chiSquareQuantile, gammaQuantile, incompleteGamma } from "./incompleteGamma";
export { apartFromNeighbours, expectedInversions, inversionSum } from "./inversions";
export { lineSums } from "./linearFit";
export { addToLine } from "./lineOfCodes";
export { deviancePart, stirlingError } from "./logGamma";
export { hannWindowed, linePowers, lineTakenOff } from "./mainsSpectrum";
export { median, medianDistance, quantileOfSizes } from "./median";
export { release } from "./memory";
export { missingCodes } from "./missingCodes";
export { noiseCorrelation, overshoot } from "./noiseCorrelation";
export { noncentrality } from "./noncentrality";
export { normalCdf, normalPdf, normalQuantile } from "./normal";
export {
  awayFromNeighbours,
  farFromNeighbours,
  farFromSine,
  farFromTriangle,
  sizesAboutSine,
  sizesAboutTriangle,
} from "./outliers";
export { packedValues } from "./packedValues";
export { explained, phaseCurve } from "./phaseCurve";
export { advances, clearestJump, jumpsOver, withoutSlope } from "./phaseJumps";
export { cheapestPieces, windowVariances } from "./phasePieces";
export { phaseKeys, placeReadings, runsOfKeys, samplePhases } from "./phases";
export { countAt, countTable, indexAt, quantile, tableCount, unevenness } from "./positionGrid";
export { drawFrom, normal, randomState, seededState, uniform } from "./random";
export { chosenWindows, windowsAgain } from "./repeatedBlocks";
export { leftByBends, leftByLevel, leftByLine, leftBySine } from "./rereadings";
export { significantDigits } from "./significantDigits";
export { addSineProducts, blockSineProducts } from "./sineAtFrequency";
export { addBlockProducts } from "./sineBlocks";
export { fitCourses } from "./sineCourses";
export { addToSineEnvelopes } from "./sineEnvelopes";
export { aboutMean, bestSine, quarterTurns } from "./sineStart";
export { addSineSums } from "./sineSums";
export { freedOfNoise, smearedWaveform } from "./smearedShare";
export { gridOf, gridOfBuckets, merged, sortedPositions } from "./sortedPositions";
export { addPairPower, realBins } from "./spectrum";
export { staleAlong } from "./staleReadings";
export { differentialNonlinearity, linePlaceErrors } from "./staticLine";
export { correlatedCount, shrunkWidths, staticErrors } from "./staticLineErrors";
export { addToSweepCurve, aheadOfTriangle, meansBesideTriangle } from "./sweepCurve";
export { middleStep, stepsBeyond } from "./sweepStep";
export { symmetricSolve } from "./symmetricSolve";
export { twoGroups } from "./telegraphNoise";
export { foldReadings, readingPhases, squaredGaps } from "./toneFold";
export { blockVariance, phaseScatter } from "./toneScatter";
export { joinedLevels, windowedTone } from "./toneSpectrum";
export { locateTransitions } from "./transitions";
export { coverageFactors, halfWidth95 } from "./transitionsInterval";
export { triangleValues } from "./triangle";
export { refineTriangle } from "./triangleFit";
export { averagesSpread, levelCourse, settledUpsets } from "./twoLevels";
export { typicalDeviation } from "./typicalDeviation";
export { waveformAt, waveformBelow, waveformSlope } from "./waveform";
export { cosineWindow } from "./window";
export { withoutDistortion } from "./withoutDistortion";
export { withoutHarmonics } from "./withoutHarmonics";
